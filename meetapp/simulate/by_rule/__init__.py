"""A world without propagation: what breaks, when it is told and how it looks comes from tables and plain rules."""
