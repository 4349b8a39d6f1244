"""Heats: who flies with whom, on what channel, in what order and at which place of the start line."""
