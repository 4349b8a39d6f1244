"""Heats: planned by the organiser, flown by the marshal, seen by the pilots."""
