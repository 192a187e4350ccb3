"""Answers as text, Markdown and pictures."""
