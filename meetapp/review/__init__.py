"""What a meet's record says afterwards: pure steps over who was on air when."""
