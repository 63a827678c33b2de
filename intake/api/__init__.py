"""The API of the intake, and what every part of the API shares: keys, problems, idempotency."""
