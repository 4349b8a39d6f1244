"""What the printed pages show: read from the tables as frozen views, drawn by `meetapp.paper`."""
