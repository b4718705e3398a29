"""Routes of units from hold to hold, for the CP-SAT peer: rules E1 to E6 and H1 to H5, and C3."""

import collections

from work import Span, Stop, numbers


class Routes:
    """All pools of units, which share the trucks and the trailer spots."""

    def __init__(self, work):
        self.book, self.model, self.costs = work.book, work.model, work.costs
        self.halves, self.time = work.halves, work.time
        # The same time with a number more where days off lie between: a spot is taken in them too.
        days_off = [h - 1 not in work.number for h in self.halves]
        self.with_days_off = [n + sum(days_off[1 : n + 1]) for n in range(len(self.halves))]
        self.trips, self.stays = collections.defaultdict(list), collections.defaultdict(list)
        self.spots = self.scarce_spots(work)
        sites = {job["place"] for job in self.book.jobs.values()}
        trailers = sum(map(self.book.towed, self.book.units))
        free = [p for p, facts in self.book.places.items() if facts.get("trailer_spots", trailers) >= trailers]
        self.bases = [p for p in free if p not in sites] or free
        homes = lambda units: {self.book.units[unit]["place"] for unit in units}
        self.routes = [
            Route(self, units, work.stops[pool])
            for pool, units in enumerate(work.pools)
            if work.stops[pool] or (self.book.towed(units[0]) and homes(units) & self.spots.keys())
        ]
        for place, stays in self.stays.items():
            self.model.add_cumulative(stays, [1] * len(stays), self.spots[place])
        self.share_trucks()

    def scarce_spots(self, work):
        """E6: place -> its spots, where more trailers could come than it has spots for."""
        comers = collections.defaultdict(set)
        for pool, units in enumerate(work.pools):
            if self.book.towed(units[0]):
                for stop in work.stops[pool]:
                    comers[stop.place].update(units)
                for unit in units:
                    comers[self.book.units[unit]["place"]].add(unit)
        spots = {place: facts.get("trailer_spots", len(comers[place])) for place, facts in self.book.places.items()}
        return {place: n for place, n in spots.items() if n < len(comers[place])}

    def share_trucks(self):
        """H4: enough trucks for every weight and heavier."""
        book = self.book
        free = [[truck for truck in book.trucks if book.truck_free(truck, h)] for h in self.halves]
        for towed in (False, True):
            for weight in sorted(weight for is_towed, weight in self.trips if is_towed == towed):
                trips = [t for key, ts in self.trips.items() if key[0] == towed and key[1] >= weight for t in ts]
                strong = lambda truck: not towed or book.trucks[truck].get("tow_lb", 0) >= weight
                room = [sum(book.capacity(truck, towed) for truck in trucks if strong(truck)) for trucks in free]
                most = max(room, default=0)
                blocks = [(at, most - n) for at, n in enumerate(room) if n < most]
                fixed = [self.model.new_fixed_size_interval_var(at, 1, "") for at, _ in blocks]
                demands = [1] * len(trips) + [n for _, n in blocks]
                self.model.add_cumulative(trips + fixed, demands, most)

    def read(self, is_true, value):
        """(job, step) -> units, and the hauls."""
        held, hauls = collections.defaultdict(list), []
        for route in self.routes:
            follows = {a: b for a, b, lit in route.arcs if a and is_true(lit)}
            for k, unit in enumerate(route.units):
                here = k
                while follows[here + 1]:
                    last, here = here, follows[here + 1] - 1
                    stop = route.stops[here]
                    if stop.job is not None:
                        held[stop.job, stop.step].append(unit)
                    if stop.place != route.stops[last].place:
                        at, late = (value(time) for time in route.times[here])
                        hauls.append((self.halves[at], bool(late), unit, route.stops[last].place, stop.place))
        return held, hauls


class Route:
    """Units alike in all but name and place: each goes from its place over some holds, each hold that is made once."""

    def __init__(self, yard, units, holds):
        self.yard, self.book, self.model, self.units, self.unit = yard, yard.book, yard.model, units, units[0]
        self.towed = self.book.towed(self.unit)
        self.true = self.model.new_constant(1)
        homes = [Stop(self.true, None, self.book.units[unit]["place"], None, None) for unit in units]
        self.stops, self.parents = homes + holds, {}
        self.scarce = {k for k, stop in enumerate(self.stops) if self.towed and stop.place in yard.spots}
        for k in sorted(self.scarce if yard.bases else ()):
            self.add_rest(k)
        self.arcs, self.days, self.times = [], {}, {}
        self.comes, self.goes, self.when = {}, {}, {}
        for k in sorted(self.scarce):
            self.add_stay(k)
        came_from = {k: self.origins(k) for k in range(len(units), len(self.stops))}
        for k, origins in came_from.items():
            self.add_times(k, origins)
        for k in range(len(self.stops)):
            self.leave_or_end(k)
        for k, origins in came_from.items():
            self.arrive(k, origins)
        self.model.add_multiple_circuit(self.arcs)
        self.hold(holds)

    def add_rest(self, k):
        """After a stop where spots are scarce, a trailer may rest at the nearest base."""
        place, model = self.stops[k].place, self.model
        base = min(self.yard.bases, key=lambda p: self.book.minutes(self.unit, place, p) or 10**6)
        rests = self.yard.time()
        self.parents[len(self.stops)] = k
        self.stops.append(Stop(model.new_bool_var(""), Span(rests, rests, 1), base, None, None))

    def add_stay(self, k):
        """E6: it takes a spot from when it comes, also for earlier holds, until it goes; days off count."""
        model, time = self.model, lambda: self.model.new_int_var(0, self.yard.with_days_off[-1] + 1, "")
        self.comes[k] = 0 if k < len(self.units) else time()
        self.goes[k], length = time(), time()
        stay = model.new_optional_interval_var(self.comes[k], length, self.goes[k], self.stops[k].lit, "")
        model.add(self.comes[k] + length == self.goes[k])
        self.yard.stays[self.stops[k].place].append(stay)

    def origins(self, k):
        """place -> the stops there that a unit may come from."""
        origins, here = collections.defaultdict(list), self.stops[k].place
        for a, stop in enumerate(self.stops):
            # From a stop to its rest alone, and not back.
            barred = a == k or self.parents.get(a) == k or self.parents.get(k, a) != a
            if not barred and (stop.place == here or self.days_for(stop.place, here)):
                origins[stop.place].append(a)
        return origins

    def days_for(self, p, q):
        """H1 to H3, E4, H6: the half-days in which a unit may be hauled, by number."""
        if (p, q) not in self.days:
            known = self.book.minutes(self.unit, p, q) is not None
            able = [known and self.book.can_haul(self.unit, p, q, h) for h in self.yard.halves]
            self.days[p, q] = [at for at, can in enumerate(able) if can]
        return self.days[p, q]

    def add_times(self, k, origins):
        """When the unit was last hauled before the stop (-1: never), and whether in an evening."""
        here, model = self.stops[k].place, self.model
        days = {-1}
        for p in {stop.place for stop in self.stops} if here in origins else origins:
            days.update(self.days_for(p, here) if p != here else ())
        self.times[k] = model.new_int_var_from_domain(numbers(days), ""), model.new_bool_var("")
        if self.scarce:
            self.when[k] = model.new_int_var(0, self.yard.with_days_off[-1], "")
            model.add_element(self.times[k][0] + 1, [0, *self.yard.with_days_off], self.when[k])

    def leave_or_end(self, k):
        ends = self.model.new_bool_var("")
        self.arcs.append((k + 1, 0, ends))
        if k in self.scarce:
            self.model.add(self.goes[k] == self.yard.with_days_off[-1] + 1).only_enforce_if(ends)
        if k < len(self.units):
            self.arcs.append((0, k + 1, self.true))
        else:
            self.arcs.append((k + 1, k + 1, ~self.stops[k].lit))
            self.model.add(self.times[k][0] == -1).only_enforce_if(~self.stops[k].lit)

    def arrive(self, k, origins):
        stop, model, (time, late) = self.stops[k], self.model, self.times[k]
        hauled = []
        for p, stops in origins.items():
            lits = [model.new_bool_var("") for _ in stops]
            for a, lit in zip(stops, lits):
                self.arcs.append((a + 1, k + 1, lit))
                if a >= len(self.units):
                    model.add(stop.span.start >= self.stops[a].span.end + 1).only_enforce_if(lit)
                if p == stop.place:
                    self.stay(a, k, lit)
                else:
                    self.leave(a, k, lit)
            if p != stop.place:
                came = lits[0] if len(lits) == 1 else model.new_bool_var("")
                model.add(sum(lits) == came)
                self.haul(k, p, came)
                hauled.append(came)
        if hauled:
            moved = stop.lit
            if stop.place in origins:
                moved = model.new_bool_var("")
                model.add(sum(hauled) == moved)
            model.add_implication(late, moved)
            evenings = numbers(at for at, h in enumerate(self.yard.halves) if h % 2)
            model.add_linear_expression_in_domain(time, evenings).only_enforce_if(late)
            weight = self.book.units[self.unit].get("weight_lb", 0)
            trip = model.new_optional_fixed_size_interval_var(time, 1, moved, "")
            self.yard.trips[self.towed, weight if self.towed else 0].append(trip)
        else:
            model.add(late == 0)

    def stay(self, a, k, lit):
        """The unit stands there already."""
        before = self.times[a][0] if a >= len(self.units) else -1
        self.model.add(self.times[k][0] == before).only_enforce_if(lit)
        if k in self.scarce:
            self.model.add(self.comes[k] == self.comes[a]).only_enforce_if(lit)
            self.model.add(self.goes[a] == self.comes[a]).only_enforce_if(lit)

    def leave(self, a, k, lit):
        """H1: after the hold before, in the evening of its last half-day at the earliest; one haul a half-day."""
        time, late = self.times[k]
        if a >= len(self.units):
            self.model.add(time + late >= self.stops[a].span.end + 1).only_enforce_if(lit)
            self.model.add(time >= self.times[a][0] + 1).only_enforce_if(lit)
        if a in self.scarce:
            self.model.add(self.goes[a] == self.when[k] + late).only_enforce_if(lit)

    def haul(self, k, p, came):
        """H1, H2, H5, C3: from place p."""
        model, (time, late), stop = self.model, self.times[k], self.stops[k]
        minutes = self.book.minutes(self.unit, p, stop.place)
        self.yard.costs.append(self.book.haul_cost(self.unit, minutes) * came)
        model.add_linear_expression_in_domain(time, numbers(self.days_for(p, stop.place))).only_enforce_if(came)
        long = minutes > self.book.same
        stands = time + 1 if long else time + late
        if long:
            model.add_implication(came, ~late)
        model.add(stands <= stop.span.start).only_enforce_if(came)
        if k in self.scarce:
            model.add(self.comes[k] == self.when[k] + (1 if long else late)).only_enforce_if(came)

    def hold(self, holds):
        """E2, which routes imply but do not see at once; E4."""
        model, out = self.model, self.book.out(self.unit)
        for stop in holds:
            for first in sorted(h for h in out if h - 1 not in out):
                last = min(h for h in range(first, self.book.H) if h + 1 not in out)
                before, halves = model.new_bool_var(""), self.yard.halves
                model.add(stop.span.end < sum(h < first for h in halves)).only_enforce_if(stop.lit, before)
                model.add(stop.span.start >= sum(h <= last for h in halves)).only_enforce_if(stop.lit, ~before)
        if len(holds) > len(self.units):
            spans = [(stop.span.start, stop.span.length, stop.span.end + 1, stop.lit) for stop in holds]
            intervals = [model.new_optional_interval_var(*span, "") for span in spans]
            model.add_cumulative(intervals, [1] * len(intervals), len(self.units))
