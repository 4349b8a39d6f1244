"""Meets with a known truth, made from a seed, to measure explanations against. Knows nothing of `meetapp.review`."""
