"""A meet as a file: taken away, checked, read back."""
