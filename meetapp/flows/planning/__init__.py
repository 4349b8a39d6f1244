"""A meet before and at its ends: details, who is expected, its channels, opening, closing."""
