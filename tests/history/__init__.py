"""Histories of people who act on one meet at once: recorded, and explained by one order or found to have none."""
