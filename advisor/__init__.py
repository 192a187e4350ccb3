"""Whetrule: which edge a knife steel can really carry, and why."""
