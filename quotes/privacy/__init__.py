"""A person's data: where it lies, giving it out, erasing it, and not keeping it for ever."""
