"""Natural talk of technicians, and the figures of what becomes of it."""
