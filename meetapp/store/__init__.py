"""Tables, constraints, queries and the engine."""
