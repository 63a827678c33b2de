"""Pricing: pure functions from a job and an owner's terms to lines, steps and a total.

The promise to the customer: a price once shown holds until its valid-until date. A quote keeps
the lines, every step behind them and the terms they were made with; a later rate card, a changed
fee or a new tax never touches a quote already shown. Whatever changes makes a new revision, and
the customer sees the difference before agreeing to it.

No database, clock or settings here: what is needed is handed in (``Job``, ``Terms``). Money is
``Decimal``; ``money.cents`` is the one rounding; lines are rounded, then summed.
"""
