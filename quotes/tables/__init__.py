"""The owner's tables as CSV: read with a dry run that lists every error by row, and written."""
