"""The line on which a single key is waited for."""

from __future__ import annotations

from collections.abc import Callable

from prompt_toolkit.application import Application
from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.input import Input
from prompt_toolkit.key_binding import DynamicKeyBindings, KeyBindings
from prompt_toolkit.key_binding.key_processor import KeyPressEvent
from prompt_toolkit.layout import FormattedTextControl, Layout, Window
from prompt_toolkit.output import Output
from prompt_toolkit.renderer import CPR_Support


class KeyLine:
    """One application for all keys: a prompt made for each would take longer than the screen above it, most of it for
    the hundreds of keys of an editor that nobody presses here."""

    def __init__(self, input: Input, output: Output) -> None:
        self._label: Callable[[], str] = str
        self._keys = KeyBindings()
        control = FormattedTextControl(self._line, show_cursor=True, focusable=True)
        self.app: Application[str | None] = Application(
            layout=Layout(Window(control, dont_extend_height=True, wrap_lines=True)),
            key_bindings=DynamicKeyBindings(lambda: self._keys), input=input, output=output,
        )  # fmt: skip
        self.app._default_bindings = KeyBindings()
        # One line needs not know where on the screen it stands, and terminals that are asked do not all answer.
        self.app.renderer.cpr_support = CPR_Support.NOT_SUPPORTED

    def _line(self) -> StyleAndTextTuples:
        return [("", self._label()), ("[SetCursorPosition]", " ")]

    def ask(self, label: Callable[[], str], keys: KeyBindings, begin: Callable[[], None] | None = None) -> str | None:
        """What the key that is pressed gives; ``begin`` is called once the line is there.

        Raises KeyboardInterrupt and EOFError as pressed.
        """
        self._label, self._keys = label, keys
        for pressed, told in (("c-c", KeyboardInterrupt), ("<sigint>", KeyboardInterrupt), ("c-d", EOFError)):
            keys.add(pressed, eager=True)(_leaving(told))
        return self.app.run(pre_run=begin)


def _leaving(told: type[BaseException]) -> Callable[[KeyPressEvent], None]:
    def leave(event: KeyPressEvent) -> None:
        event.app.exit(exception=told(), style="class:aborting")

    return leave
