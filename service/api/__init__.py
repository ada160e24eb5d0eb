"""HTTP only: resources, their answers and problem details."""
