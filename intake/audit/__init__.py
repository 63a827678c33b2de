"""What must always hold, asked of the database: for a shop to run any day, and after a fault."""
