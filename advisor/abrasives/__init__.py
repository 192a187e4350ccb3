"""Grain sizes, abrasive minerals against carbides, and the stones, films and strops of a kit."""
