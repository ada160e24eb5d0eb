"""Records to plain dicts, ready for JSON: nothing here computes or decides."""
