"""Photos that a customer attaches: checked by content, made anew without location, kept private."""
