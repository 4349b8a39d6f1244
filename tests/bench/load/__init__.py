"""A meet's laptop under load: 300 phones with live pages, two marshals, a burst of pages."""
