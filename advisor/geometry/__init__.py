"""Geometry of the edge, of a rod-guided sharpener and of a strop's compressible surface."""
