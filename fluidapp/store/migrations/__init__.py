"""Migrations of the records; they travel inside the package and need no ini file."""
