"""Answers as text, Markdown and pictures."""

EXPLAIN = ("off", "fired", "why-not", "full")
"""How much of the reasoning a text shows."""
REPLY_LIMITS = (600, 1500)
"""Characters a reply may have: a short comment, a long one."""
