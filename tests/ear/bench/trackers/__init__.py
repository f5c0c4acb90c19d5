"""Adapters: each runs one tracker on one file and gives `rows`, with its real latency accounted."""
