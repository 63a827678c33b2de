"""The API of quotes: offers, documents, acceptance, and the owner's catalogue."""
