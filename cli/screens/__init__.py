"""What a screen shows, one module per screen; nothing here reads or writes."""
