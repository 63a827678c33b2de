"""Which set goes to which site when there are too few: an exact plan that explains itself.

Pure: no database, no clock. ``plan`` reads as the table of contents.

1. ``problem`` says what is asked: sites, what passes their checks, yards, what stands there.
2. ``columns`` lists every delivery that could be made, and when it would arrive.
3. ``solve`` picks the best, rank by rank, then lateness, then least upheaval, then distance.
4. ``explain`` says why a site got nothing, and what one more set would change.
"""

from quotes.emergency.allocation.explain import Unmet, more_sets, unmet_sites
from quotes.emergency.allocation.problem import Demand, Option, Problem, Site, Stock, Yard
from quotes.emergency.allocation.solve import Delivery, Plan, plan

__all__ = [
    "Delivery",
    "Demand",
    "Option",
    "Plan",
    "Problem",
    "Site",
    "Stock",
    "Unmet",
    "Yard",
    "more_sets",
    "plan",
    "unmet_sites",
]
