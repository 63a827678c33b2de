"""Settings, addresses, processes: what turns the other packages into a running service."""
