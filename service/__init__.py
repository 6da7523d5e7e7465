"""Arithmetic behind force-carbonated batched drinks, served as a stateless REST API."""

MODEL = "2026.12.0"
"""Version of the equations and data; every answer names it, and a request may insist on it."""
