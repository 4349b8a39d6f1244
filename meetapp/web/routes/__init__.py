"""One module of routes per noun."""
