"""The marshal's pages: what they show and the smaller actions."""
