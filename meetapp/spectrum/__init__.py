"""Channels, products, best sets and matching: pure functions over frozen values, in MHz."""
