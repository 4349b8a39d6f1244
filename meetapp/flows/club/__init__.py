"""The club itself: sites, bands, kinds, plans, pilots, tokens."""
