"""Fluid and lubricant calculator for heavy mobile machines."""
