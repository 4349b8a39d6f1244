"""The pilot's own page, claiming, self-service, tags and the board."""
