"""Workbook files by parts and bytes (ECMA-376, Office Open XML): reading within bounds, and edits
that keep all else.
"""
