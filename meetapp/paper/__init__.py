"""Pages to print as PDF: exact in millimetres, black on white, nothing loaded from elsewhere.

A page is drawn from a frozen view of `meetapp.flows.printing`; nothing is decided or looked up here.
"""
