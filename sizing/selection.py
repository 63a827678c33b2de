"""Chapter 7: the smallest set of a fleet that passes every check, cheap filters first."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Hashable, Iterable, Iterator

from sizing.demand import Demand
from sizing.dip import hardest_dip
from sizing.evaluation import Evaluation, frequency_checks, loaded, rated, simulated
from sizing.fleet import GeneratorSet
from sizing.frequency import FrequencyDip, step_percent, worst_frequency_dip
from sizing.fuel import mean_load_percent
from sizing.limits import TOLERANCE, limit
from sizing.position import rated_amps
from sizing.requirement import Requirement
from sizing.site_rating import site_rating


def passing(
    fleet: Iterable[GeneratorSet],
    demand: Demand,
    requirement: Requirement,
    *,
    count: int = 1,
) -> Iterator[Evaluation]:
    """Yield the sets that pass every check, smallest first, as far as the caller asks.

    Parameters
    ----------
    fleet : iterable of GeneratorSet
        Sets, or composites of sets in parallel, in any order [-]
    demand : Demand
        What the loads of one supply ask [-]
    requirement : Requirement
        A resolved requirement [-]
    count : int
        Machines in each composite [-]

    Yields
    ------
    Evaluation
        Passed evaluations by rising prime power, then by code [-]

    Raises
    ------
    KeyError
        The demand's supply is not a known system.

    Notes
    -----
    The dear check, the simulated frequency dip, comes last and only where its gate is open.
    """
    able = sorted((set_ for set_ in fleet if could_carry(set_, demand)), key=by_size)
    gate = FrequencyGate(able, demand, requirement)
    for set_ in able:
        if not is_hopeful(set_, demand, requirement):
            continue
        found = rated(set_, demand, requirement, count=count)
        if found.refusals:
            continue
        found = loaded(found, requirement)
        if found.refusals or not gate.is_open(set_):
            continue
        found = simulated(found, requirement, frequency=gate.dip(set_))
        if found.passed:
            yield found


class FrequencyGate:
    """Tells with few simulations which sets the frequency dip refuses.

    Sets alike in class and dynamics differ in the dip only by their site rating: the larger it
    is, the smaller the step. So in each family, by rising power, the sets that fail come first.
    A set that holds opens the gate for all larger ones; where one fails, the largest is tried,
    and the first that holds is found between them by bisection.
    """

    def __init__(
        self, able: Iterable[GeneratorSet], demand: Demand, requirement: Requirement
    ) -> None:
        self._demand, self._site = demand, requirement.site
        self._able = tuple(able)
        self._dips: dict[str, FrequencyDip] = {}
        self._first: dict[Hashable, tuple[float, str] | None] = {}

    def is_open(self, set_: GeneratorSet) -> bool:
        """Whether the set is not among those that the dip refuses; ask by rising power."""
        mine = family(set_)
        if mine not in self._first:
            self._first[mine] = self._first_open(set_)
        first = self._first[mine]
        return first is not None and by_size(set_) >= first

    def dip(self, set_: GeneratorSet) -> FrequencyDip:
        """Simulated dip of a set of the families, each simulated once."""
        if set_.code not in self._dips:
            site = self._site
            rating, _ = site_rating(set_, site.altitude_m.likely, site.ambient_c.likely)
            steps = self._demand.engine_steps
            self._dips[set_.code] = worst_frequency_dip(steps, set_, rating.site_kw)
        return self._dips[set_.code]

    def _first_open(self, asked: GeneratorSet) -> tuple[float, str] | None:
        """Size of the first set from ``asked`` on, in its family, that holds; ``None`` for none."""
        if self._holds(asked):
            return by_size(asked)
        mine = family(asked)
        larger = [set_ for set_ in self._able if by_size(set_) > by_size(asked)]
        members = [set_ for set_ in larger if family(set_) == mine]
        if not members or not self._holds(members[-1]):
            return None
        place = bisect_left(members, True, 0, len(members) - 1, key=self._holds)
        return by_size(members[place])

    def _holds(self, set_: GeneratorSet) -> bool:
        return all(check.passed for check in frequency_checks(set_, self.dip(set_)))


def family(set_: GeneratorSet) -> Hashable:
    """Return what makes two sets alike in all that bears on frequency except their power.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]

    Returns
    -------
    hashable
        Equal for sets of one family [-]

    Raises
    ------
    AttributeError
        The argument is no set.
    """
    return (
        set_.performance_class,
        set_.inertia_s,
        set_.governor_lag_s,
        set_.turbo_lag_s,
        set_.naturally_aspirated_share,
        set_.aspiration,
        set_.engine_altitude_derate,
        set_.engine_ambient_derate,
        set_.alternator_altitude_derate,
        set_.alternator_ambient_derate,
    )


def is_hopeful(set_: GeneratorSet, demand: Demand, requirement: Requirement) -> bool:
    """Return whether a set holds at the site where most sets fail: a filter, no check.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]
    demand : Demand
        What the loads of one supply ask [-]
    requirement : Requirement
        A resolved requirement [-]

    Returns
    -------
    bool
        ``False`` only where the check of the load step, of the mean load or of the voltage dip
        refuses the set [-]

    Raises
    ------
    TableRefused
        The application has no dip limit.
    """
    site, room = requirement.site, 1 + 2 * TOLERANCE  # the checks themselves decide at the limit
    rating, _ = site_rating(set_, site.altitude_m.likely, site.ambient_c.likely)
    if step_percent(demand.hardest_step, rating.site_kw) > room * set_.max_step_percent:
        return False
    mean_percent = mean_load_percent(demand.profile.levels, rating.site_kw)
    if mean_percent > room * limit("mean_load").value:
        return False
    loads, application = demand.loads, requirement.application
    _, share = hardest_dip(demand.steps, set_, demand.supply, loads, application)
    return share <= room


def by_size(set_: GeneratorSet) -> tuple[float, str]:
    """Return the order of a fleet: prime power, then code.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]

    Returns
    -------
    tuple of float and str
        Prime power [kW] and code

    Raises
    ------
    AttributeError
        The argument is no set.
    """
    return set_.prime_kw, set_.code


def could_carry(set_: GeneratorSet, demand: Demand) -> bool:
    """Return whether a set might carry a demand at reference conditions: the cheapest filter.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]
    demand : Demand
        What the loads of one supply ask [-]

    Returns
    -------
    bool
        ``False`` only where no site could make the set pass [-]

    Raises
    ------
    KeyError
        The demand's supply is not a known system.

    Notes
    -----
    No derating factor is above 1, so what fails here fails everywhere.
    """
    return (
        demand.supply in set_.supplies
        and set_.quantity > 0
        and set_.prime_kw >= demand.sequence.peak_kw - TOLERANCE
        and rated_amps(set_, demand.supply) >= demand.line_amps - TOLERANCE
    )
