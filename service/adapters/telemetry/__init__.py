"""What operators see of the service: logs, metrics and traces, none of them with customer data."""
