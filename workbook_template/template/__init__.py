"""The book that is written: its sheets, its tables and its example."""
