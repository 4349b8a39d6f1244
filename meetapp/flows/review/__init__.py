"""What happened at a meet, looked at afterwards."""
