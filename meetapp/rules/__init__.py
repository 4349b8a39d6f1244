"""Pure steps of loans, the waiting line and undo: (state, action) to a new state or a refusal."""
