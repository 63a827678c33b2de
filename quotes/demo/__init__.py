"""The invented hire company of the demo."""
