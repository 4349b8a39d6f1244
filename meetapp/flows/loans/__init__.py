"""Loans, the waiting line, turns and token states: decided, written, undone."""
