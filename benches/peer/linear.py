"""The planning rules as a time-indexed linear model, for the HiGHS peer: work as in tests/reference, units by pool.

A pool is all units alike but in name and place: one flow from place to place. What a pool holds at a place is a
number, and no unit changes while a hold lasts: rows say how many must stay.
"""

import collections
import itertools
import math

from plans import pools  # before the model: it shows where tests/reference is

import model


class Program(model.Program):
    """minimise cost, columns 0 to most, whole but for those that follow from whole ones."""

    def __init__(self):
        super().__init__()
        self.most, self.whole = [], []

    def column(self, cost=0, most=1, whole=True):
        self.most.append(most)
        self.whole.append(whole)
        return super().column(cost)

    def same(self, *sums):
        self.row(0, 0, *sums)

    def no_more(self, *sums):
        """The sums are 0 at most."""
        self.row(-math.inf, 0, *sums)


class Work(model.Work):
    """W1, W3 to W6, W8; C1, C2, C4 to C6."""

    def __init__(self, book, program):
        super().__init__(book, program)
        self.choose_runs()
        self.keep_order()
        self.share_crews()
        several = {}
        for j, job in self.jobs.items():
            before = {name for k in range(len(job["steps"])) for other, name, *_ in book.links(job, k) if other == j}
            last = [step["id"] for step in job["steps"] if step["id"] not in before]
            if len(last) > 1:
                several[j] = job
            else:  # the run of the one last step says it all
                for run, column in self.runs[j, last[0]]:
                    program.cost[column] += book.end_cost(job, run.end)
        all_jobs, self.jobs = self.jobs, several
        self.count_ends()
        self.jobs = all_jobs


class Yard:
    """E1 to E6, H1 to H5, C3."""

    def __init__(self, book, program, work):
        self.book, self.program, self.work = book, program, work
        # Of days off, in which nothing happens but equipment stands somewhere, the first half-day does.
        self.halves = [h for h in range(book.H) if book.works[h] or (h and book.works[h - 1])]
        self.number = {h: n for n, h in enumerate(self.halves)}
        self.pools = pools(book)
        # (pool, place, number) -> [(column, factor)]: units held then; then and before; before, then and after.
        self.held, self.kept, self.kept_on = (collections.defaultdict(list) for _ in range(3))
        self.holds, self.hauls = [], []
        for (j, step), runs in work.runs.items():
            self.serve(j, step, runs)
        for j, job in work.jobs.items():
            for kind, count in collections.Counter(book.parked(job)).items():
                self.park(j, kind, count)
        self.towed_at, self.trips = collections.defaultdict(list), collections.defaultdict(list)
        for pool in range(len(self.pools)):
            self.move(pool)
        self.share_trucks_and_spots()

    def serving(self, want):
        return [pool for pool, units in enumerate(self.pools) if self.book.serves(units[0], want)]

    def serve(self, j, step, runs):
        """E2, E4, E5."""
        place, program = self.book.jobs[j]["place"], self.program
        alike = collections.defaultdict(list)
        for run, column in runs:
            alike[run.start, run.end, run.wants].append(column)
        for (start, end, wants), columns in alike.items():
            first, last = self.number[start], self.number[end]
            for want, count in collections.Counter(wants).items():
                span = set(range(start, end + 1))
                pools = [pool for pool in self.serving(want) if not span & self.book.out(self.pools[pool][0])]
                shares = [(pool, program.column(0, min(count, len(self.pools[pool])))) for pool in pools]
                program.same(([column for _, column in shares], 1), (columns, -count))
                for pool, column in shares:
                    self.holds.append((pool, place, first, last, column, (j, step)))
                    for n in range(first, last + 1):
                        self.held[pool, place, n].append(([column], 1))
                        if n > first:
                            self.kept[pool, place, n].append(([column], 1))
                        if first < n < last:
                            self.kept_on[pool, place, n].append(([column], 1))

    def park(self, j, kind, count):
        """E3. begun and over may err only towards holding longer, which never helps."""
        book, program, steps = self.book, self.program, self.work.jobs[j]["steps"]
        place, pools = book.jobs[j]["place"], self.serving(kind)
        shares = {pool: program.column(0, min(count, len(self.pools[pool]))) for pool in pools}
        program.row(count, count, (shares.values(), 1), ([self.work.left_out[j]], count))
        for pool, column in shares.items():
            self.holds.append((pool, place, None, None, column, (j, None)))
        now, stays = {}, {}
        for n, h in enumerate(self.halves):
            begun, over = [program.column(0, 1, False)], [program.column(0, 1, False)]
            for step in steps:
                runs = self.work.runs[j, step["id"]]
                program.no_more(([column for run, column in runs if run.start <= h], 1), (begun, -1))
                program.no_more((over, 1), ([column for run, column in runs if run.end < h], -1))
            program.no_more((over, 1), (begun, -1))
            gap = set(range(self.halves[n - 1] + 1 if n else h, h + 1))
            for pool, share in shares.items():
                out = book.out(self.pools[pool][0])
                now[pool, n] = program.column(0, 0 if h in out else count, False)
                program.no_more(([now[pool, n]], 1), ([share], -1))
                self.held[pool, place, n].append(([now[pool, n]], 1))
                stays[pool, n] = program.column(0, 0 if gap & out or not n else count, False)
                self.kept[pool, place, n].append(([stays[pool, n]], 1))
                if n:
                    program.no_more(([now[pool, n - 1], now[pool, n]], 1), ([share, stays[pool, n]], -1))
                    through = program.column(0, count, False)
                    program.no_more(([stays[pool, n - 1], stays[pool, n]], 1), ([share, through], -1))
                    self.kept_on[pool, place, n - 1].append(([through], 1))
            program.same(([now[pool, n] for pool in pools], 1), (begun, -count), (over, count))

    def ways_out(self, pool):
        """(from, to, minutes) of every haul that some best plan may need.

        A haul from P to a place R where nothing wants the unit is needless where P is never short of spots, its road
        open whenever R's is, and P to Q no longer, in minutes and half-days, than by way of R, for every Q: let the
        unit stay at P until it leaves R in that plan, and go from there. One haul less, so this comes to an end.
        """
        book, unit = self.book, self.pools[pool][0]
        towed = book.towed(unit)
        trailers = sum(map(book.towed, book.units))
        shut = lambda p, h: book.road_closed[p][h] if towed else book.weather[p][h].get("no_travel")
        closed = {p: {h for h in self.halves if book.works[h] and shut(p, h)} for p in book.places}
        spots = {p: facts.get("trailer_spots", trailers) for p, facts in book.places.items()}
        roomy = {p for p in spots if not towed or spots[p] >= trailers}
        wanted = {place for some, place, _ in self.held if some == pool}
        minutes = {(p, q): book.minutes(unit, p, q) for p, q in itertools.permutations(book.places, 2)}
        known = {leg: n for leg, n in minutes.items() if n is not None}
        no_better = lambda p, r, q: (
            (p, q) in known
            and known[p, q] <= known[p, r] + known[r, q]
            and (known[p, q] > book.same) == (known[r, q] > book.same)
        )
        for p, r in known:
            onwards = [q for q in book.places if q != p and (r, q) in known]
            needless = p in roomy and closed[p] <= closed[r] and all(no_better(p, r, q) for q in onwards)
            if r in wanted or not needless:
                yield p, r, known[p, r]

    def move(self, pool):
        book, program, units = self.book, self.program, self.pools[pool]
        size, halves = len(units), self.halves
        at = {key: program.column(0, size, False) for key in itertools.product(book.places, range(len(halves)))}
        leaves, leaves_late, comes, comes_next = (collections.defaultdict(list) for _ in range(4))
        towed, weight = book.towed(units[0]), book.units[units[0]].get("weight_lb", 0)
        for p, q, minutes in self.ways_out(pool):
            for n, h in enumerate(halves):
                if not book.can_haul(units[0], p, q, h):
                    continue
                long, cost = minutes > book.same, book.haul_cost(units[0], minutes)
                start = program.column(cost, size)
                leaves[p, n].append(start)
                (comes_next[q, n + 1] if long else comes[q, n]).append(start)
                self.hauls.append((n, False, long, pool, p, q, start))
                self.trips[n, towed, weight].append(start)
                if h % 2 and not long:
                    late = program.column(cost, size)
                    leaves_late[p, n].append(late)
                    comes_next[q, n + 1].append(late)
                    self.hauls.append((n, True, long, pool, p, q, late))
                    self.trips[n, towed, weight].append(late)
        homes = collections.Counter(book.units[unit]["place"] for unit in units)
        for p, n in at:
            here, key = [at[p, n]], (pool, p, n)
            home, before = (0, [at[p, n - 1]]) if n else (homes[p], [])
            stood = (before, -1), (leaves_late[p, n - 1], 1)
            program.row(home, home, *stood, (here, 1), (leaves[p, n], 1), (comes[p, n] + comes_next[p, n], -1))
            # H1, E2: it stood here to the end of the half-day before, and is not held on.
            program.row(-math.inf, home, *stood, (leaves[p, n], 1), *self.kept[key])
            # H1: in the evening goes what did not come in this half-day and is not held on.
            if leaves_late[p, n]:
                program.no_more((leaves_late[p, n], 1), (comes[p, n], 1), (here, -1), *self.kept_on[key])
            if self.held[key]:
                program.no_more((here, -1), *self.held[key])
            if towed:
                self.towed_at[p, n] += here

    def share_trucks_and_spots(self):
        """H4: enough trucks for every weight and heavier; E6."""
        book, program = self.book, self.program
        weights = {book.units[units[0]].get("weight_lb", 0) for units in self.pools}
        for n, h in enumerate(self.halves):
            free = [truck for truck in book.trucks if book.truck_free(truck, h)]
            going = lambda towed, lb: [c for w in weights if w >= lb for c in self.trips[n, towed, w]]
            program.row(-math.inf, sum(book.capacity(truck, False) for truck in free), (going(False, 0), 1))
            for weight in weights:
                strong = [truck for truck in free if book.trucks[truck].get("tow_lb", 0) >= weight]
                program.row(-math.inf, sum(book.capacity(truck, True) for truck in strong), (going(True, weight), 1))
            for place, facts in book.places.items():
                if "trailer_spots" in facts:
                    program.row(-math.inf, facts["trailer_spots"], (self.towed_at[place, n], 1))
