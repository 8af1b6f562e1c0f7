"""Papers that a case leaves behind."""
