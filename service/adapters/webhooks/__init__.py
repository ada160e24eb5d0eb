"""Events on their way out: signed, sent to checked addresses, tried again."""
