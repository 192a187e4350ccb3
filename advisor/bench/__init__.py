"""Measures speed, memory and start-up, against CLIPS where clipspy is installed."""
