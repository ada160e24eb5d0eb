"""The stories of the requests; what they need from outside comes in as ports."""
