"""The API put together: addresses, schema, viewer."""
