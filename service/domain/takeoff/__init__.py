"""Parts and hours that a layout needs."""
