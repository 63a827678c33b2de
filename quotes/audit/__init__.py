"""What must always hold of quotes, orders and bookings."""
