"""Channel plans, band rules and transmitter kinds as TOML, each row with its source."""
