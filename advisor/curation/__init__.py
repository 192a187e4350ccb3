"""Curation of the knowledge: lint, cases, coverage, impact of a change, and writing new rules."""
