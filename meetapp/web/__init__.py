"""Routes, forms, errors, security and rendering: reads a request, calls a flow, answers."""
