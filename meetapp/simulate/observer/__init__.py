"""An ideal observer of simulated meets: knows how they are made and sees the record only."""
