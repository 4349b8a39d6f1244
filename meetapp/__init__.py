"""Runs the video-channel side of a club's flying meet."""

__version__ = "0.1.0"
