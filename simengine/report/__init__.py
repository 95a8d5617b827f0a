"""Pictures, tables and files made from a result."""
