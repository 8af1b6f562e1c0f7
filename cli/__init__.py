"""The command line: commands, screens and prompts over the library."""
