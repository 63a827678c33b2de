"""The set arrives, is signed for, runs, is looked after, and comes back."""
