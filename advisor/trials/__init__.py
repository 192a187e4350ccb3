"""Trials: what people measured, and where it disagrees with the rules."""
