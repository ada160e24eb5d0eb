"""The database: tables, migrations and the quotes kept in it."""
