"""Who does the work of re-pricing runs: a local worker, or workers that a broker calls."""
