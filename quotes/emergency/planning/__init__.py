"""From the needs of an event to a plan in force: what is asked, planned, explained and booked.

1. ``situation`` turns plain rows into the allocation's problem, and says what is left out and why.
2. ``fitness`` asks the sizing method which sets pass every check of a need; ``combining`` the same
   for needs so near each other that one set could serve them.
3. ``making`` plans on the queue ``emergency`` and stores the plan whole; ``differences`` and
   ``words`` say what changed and why a need got nothing.
4. ``choices`` keeps a rep's pins and bans; ``force`` puts a plan in force and books its units.
"""
