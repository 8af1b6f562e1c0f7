"""The shipped knowledge: one folder shared by every family, and one folder per family."""
