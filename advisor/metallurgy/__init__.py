"""Composition to carbides, matrix, EN names; hardness scales; edge retention.  Pure functions, no I/O."""
