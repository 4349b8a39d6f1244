"""One function per user action: load, decide, write, commit."""
