"""An exact time-indexed linear model of the planning rules, unit by unit, for HiGHS and for CP-SAT.

Column by column: x a run (step, way, crew, start, overtime, span); y a job left out, or started and without an end; at a unit, place and half-day; haul and evening a
unit, two places and half-day; z a unit that serves a run's want. All rows are linear; all columns are 0 or 1.
"""

import collections
import itertools
import math

from book import who
from runs import runs_of


class Program:
    """minimise cost, every column 0 or 1, rows (least, most, {column: factor}); few of the columns `scarce`, first of all."""

    def __init__(self):
        self.cost, self.rows, self.constant, self.scarce = [], [], 0, []

    def column(self, cost=0):
        self.cost.append(cost)
        return len(self.cost) - 1

    def row(self, least, most, *sums):
        """Sums are (columns, factor)."""
        terms = collections.Counter()
        for columns, factor in sums:
            for column in columns:
                terms[column] += factor
        terms = {column: factor for column, factor in terms.items() if factor}
        if terms or least > 0 or most < 0:
            self.rows.append((least, most, terms))


def build(book):
    return parts(book, Yard)[0]


def parts(book, of_units):
    """The program, the work in it, and the units in it, which `of_units` puts there (Yard)."""
    program = Program()
    work = Work(book, program)
    work.choose_runs()
    work.keep_order()
    work.share_crews()
    work.count_days()
    work.count_ends()
    work.count_open()
    yard = of_units(book, program)
    yard.move_units()
    yard.be_home()
    yard.clear_sites(work)
    yard.serve(work)
    yard.share_trucks_and_spots(work)
    return program, work, yard


class Work:
    """W1, W3 to W6, W8 to W13, W16, N1; C1, C2, C4 to C11, C14 to C16."""

    def __init__(self, book, program):
        self.book, self.program = book, program
        self.jobs = {j: job for j, job in book.jobs.items() if not book.later(job)}
        self.runs = collections.defaultdict(list)  # (job, step) -> [(run, column)]
        self.left_out = {}

    def choose_runs(self):
        book, program = self.book, self.program
        program.constant += sum(kept[2] for kept in book.kept.values())
        for j, job in self.jobs.items():
            self.left_out[j] = program.column(book.left_out(job))
            if book.over(job):
                program.row(0, 0, ([self.left_out[j]], 1))
            elif book.started(job):
                program.scarce.append(self.left_out[j])
            for step in book.planned(job):
                s = j, step["id"]
                program.constant -= self.history_kept(s, step)
                for run in runs_of(book, job, step):
                    cost = run.cost + self.at_start(job, step, run) + self.at_end(job, step, run)
                    self.runs[s].append((run, program.column(cost)))
                program.row(1, 1, (self.starts(s), 1), ([self.left_out[j]], 1))
                for rest in {run.rest for run, _ in self.runs[s]} - {None}:
                    first, second = ([(r, c) for r, c in self.runs[s] if r.part == p and r.rest == rest] for p in ("first", "second"))
                    program.row(0, 0, ([c for _, c in first], 1), ([c for _, c in second], -1))
                    for t in range(book.now, book.H):
                        back, ready = [c for r, c in second if r.start <= t], [c for r, c in first if r.end + 2 <= t]
                        program.row(-math.inf, 0, (back, 1), (ready, -1))

    def history_kept(self, s, step):
        """C7 that is not paid: what has begun is compared as the book has it, whether or not its job ends."""
        row = step.get("done") or step.get("progress")
        if row is None or s not in self.book.kept:
            return 0
        told = self.book.kept[s]
        return told[2] - self.book.changed(told, who(row), self.book.index(row["start"]))

    def at_start(self, job, step, run):
        """C10, and C7: of what was told is paid back what is kept of it."""
        if run.part == "second" or run.units is not None:
            return 0
        told = self.book.kept.get((job["id"], step["id"]))
        by = run.crew, frozenset(run.team[1:])
        back = told[2] - self.book.changed(told, by, run.start) if told else 0
        return self.book.missed(step, run.start) - back

    def at_end(self, job, step, run):
        """C5's cent, and C1 of a step with a due of its own."""
        return 0 if run.part == "first" else max(run.end, 0) + self.book.step_late(job, step, run.end)

    def starts(self, s, which=lambda run: True):
        return [column for run, column in self.runs[s] if run.part != "second" and which(run)]

    def ends(self, s, which=lambda run: True):
        return [column for run, column in self.runs[s] if run.part != "first" and which(run)]

    def keep_order(self):
        """W6: who starts by t follows who ended in time; who must start soon may not start later."""
        for j, job in self.jobs.items():
            for k, step in enumerate(job["steps"]):
                mine = j, step["id"]
                if "done" in step or "progress" in step or mine in self.book.later_steps:
                    continue
                for other, name, wait, within in self.book.links(job, k):
                    before, done = (other, name), self.done_at(other, name)
                    if done is not None:
                        # It was done, whether or not the rest of its job can be.
                        wrong = lambda run: run.start < done + 1 + wait or (within is not None and run.start > done + 1 + within)
                        self.program.row(0, 0, (self.starts(mine, wrong), 1))
                        continue
                    if self.book.started(job) and (other not in self.jobs or before in self.book.later_steps):
                        continue
                    # A started job does not wait for a job that is left out; others are left out with it.
                    waived = [self.left_out[other]] if self.book.started(job) and other != j else []
                    for t in range(min([self.book.now, *(run.end for run, _ in self.runs[before])]), self.book.H):
                        started = self.starts(mine, lambda run: run.start <= t)
                        in_time = self.ends(before, lambda run: run.end + 1 + wait <= t)
                        self.program.row(-math.inf, 0, (started, 1), (in_time + waived, -1))
                        if within is not None:
                            too_late = self.starts(mine, lambda run: run.start > t + 1 + within)
                            self.program.row(-math.inf, 1, (self.ends(before, lambda run: run.end <= t), 1), (too_late, 1))

    def done_at(self, j, name):
        done = next(step for step in self.book.jobs[j]["steps"] if step["id"] == name).get("done")
        return done and self.book.index(done["end"])

    def share_crews(self):
        """W4, W13, W16, C4; who works in overtime (W9, C8)."""
        book, program = self.book, self.program
        steps, stops, self.over_time, self.works = (collections.defaultdict(list) for _ in range(4))
        self.places = collections.defaultdict(list)  # (own crew, half-day, place) -> columns of steps there
        of = [(self.book.jobs[j]["place"], row) for (j, _), rows in self.runs.items() for row in rows]
        for place, (run, column) in of:
            for crew, h in run.work:
                if run.stop is None:
                    steps[crew, h].append(column)
                    self.places[crew, h, place].append(column)
                else:
                    stops[crew, h].append((column, run.stop))
        for crew, h in {**steps, **stops}:
            at_steps, at_stops = steps[crew, h], [column for column, _ in stops[crew, h]]
            several = book.at_once(crew)
            if several:
                program.row(-math.inf, several, (at_steps + at_stops, 1))
            elif at_stops:
                some = program.column()
                for column in at_stops:
                    program.row(-math.inf, 0, ([column], 1), ([some], -1))
                program.row(-math.inf, 1, (at_steps + [some], 1))
                self.works[crew, h] = at_steps + [some]
                unit = math.gcd(*(takes for _, takes in stops[crew, h]))  # small numbers for the solvers
                fits = (([column], takes // unit) for column, takes in stops[crew, h])
                program.row(-math.inf, book.half_day() // unit, *fits)
            else:
                program.row(-math.inf, 1, (at_steps, 1))
                self.works[crew, h] = at_steps
            if book.overtime[h]:
                self.over_time[crew, h] = at_steps if several is None else []
                self.share_overtime(crew, h, at_stops if several is None else at_steps + at_stops)
        for j, job in self.jobs.items():
            on_it = []
            for crew, facts in self.book.crews.items():
                if facts.get("own", True):
                    on_it.append(self.program.column(self.book.extra_crew))
                    for step in self.book.planned(job):
                        by_crew = self.starts((j, step["id"]), lambda run: run.crew == crew)
                        self.program.row(-math.inf, 0, (by_crew, 1), (on_it[-1:], -1))
            first_is_free = self.program.column(-self.book.extra_crew)
            self.program.row(-math.inf, 0, ([first_is_free], 1), (on_it, -1))

    def count_days(self):
        """C14: what is worked of a week beyond what may be; C15: one round a date, of those that can be driven."""
        book, program = self.book, self.program
        for crew in book.crews:
            for week in book.weeks_charged():
                most, worked = book.may_work(crew, week), [c for h in week if book.works[h] for c in self.works[crew, h]]
                if most is not None and worked:
                    short = [program.column(book.reserve_half_day) for _ in range(14)]
                    program.row(-math.inf, most, (worked, 1), (short, -1))
            for am in range(book.now // 2 * 2, book.H, 2) if book.home(crew) else ():
                of = [[place for place in book.places if self.places[crew, h, place]] + [None] for h in (am, am + 1)]
                rounds = {pair: book.round_cost(crew, *pair) for pair in itertools.product(*of)}
                rounds = {pair: program.column(cost) for pair, cost in rounds.items() if cost is not None}
                program.row(1, 1, (list(rounds.values()), 1))
                for half, place in ((half, place) for half in (0, 1) for place in of[half] if place is not None):
                    driven = [column for pair, column in rounds.items() if pair[half] == place]
                    program.row(0, 0, (driven, 1), (self.places[crew, am + half, place], -1))

    def share_overtime(self, crew, h, columns):
        """C8 once for all that a crew does in a half-day, where that may be several."""
        if columns:
            works = self.program.column(self.book.overtime_half_day)
            for column in columns:
                self.program.row(-math.inf, 0, ([column], 1), ([works], -1))
            self.program.row(-math.inf, 0, ([works], 1), (columns, -1))
            self.over_time[crew, h] = self.over_time[crew, h] + [works]

    def count_ends(self):
        """C1 and C5: what each half-day costs that goes by before the job is over. Costs never fall with the end."""
        for j, job in self.jobs.items():
            done = [self.done_at(j, step["id"]) for step in job["steps"] if "done" in step]
            least = max(done) if done else self.book.now
            costs = {h: self.book.end_cost(job, h) for h in range(least, self.book.H)}
            self.pay([self.left_out[j]], costs[least])
            for h in range(least + 1, self.book.H):
                if costs[h] > costs[h - 1]:
                    over = self.program.column(costs[h - 1] - costs[h])
                    self.pay([self.left_out[j]], costs[h] - costs[h - 1])
                    for step in self.book.planned(job):
                        ended = self.ends((j, step["id"]), lambda run: run.end < h)
                        self.program.row(-math.inf, 0, ([over], 1), (ended, -1))

    def count_open(self):
        """C16: a half-day that the shop works is paid for, or the job is over, once a step has started; from now where it has
        begun."""
        for j, job in self.jobs.items():
            if not self.book.open_half_day or self.book.over(job):
                continue
            for h in (h for h in range(self.book.now, self.book.H) if self.book.works[h]):
                paid, over = [self.program.column(self.book.open_half_day)], [self.program.column()]
                for step in self.book.planned(job):
                    self.program.row(-math.inf, 0, (over, 1), (self.ends((j, step["id"]), lambda run: run.end < h), -1))
                    started = self.starts((j, step["id"]), lambda run: run.start <= h)
                    if not self.book.started(job):
                        self.program.row(0, math.inf, (paid + over, 1), (started, -1))
                if self.book.started(job):
                    self.program.row(1, math.inf, (paid + over + [self.left_out[j]], 1))

    def pay(self, unless, cost):
        """A cost that every plan has, but for the columns that take it back."""
        self.program.constant += cost
        for column in unless:
            self.program.cost[column] -= cost


class Held:
    """By unit, place and half-day the columns of what the unit serves then; of a shared unit by who wants it too."""

    def __init__(self, book):
        self.book, self.columns = book, collections.defaultdict(list)

    def add(self, unit, place, h, who, column):
        self.columns[unit, place, h, who if self.book.shared(unit) else None].append(column)


class Yard:
    """E1 to E8, H1 to H5, C3, C12, C13, C17, C18."""

    def __init__(self, book, program):
        self.book, self.program = book, program
        self.half_days = range(book.now, book.H)
        keys = itertools.product(book.units, book.places, self.half_days)
        self.at = {key: program.column(book.standing(*key)) for key in keys}
        self.hauls = collections.defaultdict(list)  # (unit, half-day) -> columns
        # (unit, place, half-day) -> sums and a number that come to 1 where the unit is there as that begins, else to 0.
        self.begins = {}
        # What columns say: [(column, half-day, in the evening, unit, from, to)]; [(column, (job, step), unit)]; (job,
        # position of what it parks) -> {unit: column}.
        self.moves, self.serving, self.parking = [], [], {}

    def legs(self, unit):
        """From where to where it may be hauled."""
        return itertools.permutations(self.book.places, 2)

    def move_units(self):
        book = self.book
        for unit, facts in book.units.items():
            leaves, leaves_late, comes, comes_next = (collections.defaultdict(list) for _ in range(4))
            for p, q in self.legs(unit):
                minutes = book.minutes(unit, p, q)
                for h in self.half_days:
                    if minutes is None or not book.can_haul(unit, p, q, h):
                        continue
                    long, cost = minutes > book.same, book.haul_cost(unit, minutes)
                    starts = [self.program.column(cost + (book.standing(unit, p, h, True) if long else 0))]
                    leaves[p, h] += starts
                    (comes_next if long else comes)[q, h] += starts
                    late = [self.program.column(cost)] if h % 2 and not long else []
                    leaves_late[p, h] += late
                    comes_next[q, h] += late
                    self.hauls[unit, h] += [(p, q, column) for column in starts + late]
                    self.moves += [(column, h, column in late, unit, p, q) for column in starts + late]
            for p, h in itertools.product(book.places, self.half_days):
                before, home = [self.at[unit, p, h - 1]] if h > book.now else [], int(h == book.now and p == facts["place"])
                here = [self.at[unit, p, h]]
                # Stood here to the end of the half-day before: there then, and not hauled away that evening.
                stood = (before, 1), (leaves_late[p, h - 1], -1)
                self.program.row(-home, -home, *stood, (comes_next[p, h - 1] + comes[p, h], 1), (leaves[p, h], -1), (here, -1))
                self.program.row(-home, math.inf, *stood, (leaves[p, h], -1))
                self.begins[unit, p, h] = [*stood, (comes_next[p, h - 1], 1)], home
                # In the evening it leaves from where it stands, if no haul brought it here in this half-day.
                self.program.row(0, math.inf, (here, 1), (comes[p, h], -1), (leaves_late[p, h], -1))

    def be_home(self):
        """C17."""
        for unit, place, h in itertools.product(self.book.units, self.book.places, self.book.dawns()):
            cost, (sums, at_first) = self.book.home_late(unit, place, h), self.begins[unit, place, h]
            self.program.constant += cost * at_first
            for columns, factor in sums:
                for column in columns:
                    self.program.cost[column] += cost * factor

    def clear_sites(self, work):
        """C18: what is there as a date begins is paid for, or a job there goes on still, or none there is done."""
        book, program = self.book, self.program
        for (place, jobs), h in itertools.product(book.sites(), book.dawns()):
            before, excuses = book.ended_before(place, h), []
            to_plan = [job for job in jobs if not book.over(job)]
            if any(book.over(job) and book.last_done(job) >= before for job in jobs):
                continue
            for job in to_plan:
                steps = [step["id"] for step in book.planned(job) if "done" not in step]
                ended = [column for step in steps for column in work.ends((job["id"], step), lambda run: run.end < before)]
                # One that has begun goes on where it finds no end; another that is left out does not.
                out = [] if book.started(job) else [work.left_out[job["id"]]]
                excuses.append(program.column())
                program.row(-math.inf, len(steps), (excuses[-1:], 1), (ended, 1), (out, len(steps)))
            if len(to_plan) == len(jobs) and not any(book.started(job) for job in jobs):
                excuses.append(program.column())
                for job in jobs:
                    program.row(-math.inf, 0, (excuses[-1:], 1), ([work.left_out[job["id"]]], -1))
            for unit in (unit for unit in book.units if book.towed(unit)):
                paid, (sums, at_first) = [program.column(book.late_price(book.places[place]["clear_by"]))], self.begins[unit, place, h]
                program.row(at_first, math.inf, (paid + excuses, 1), *((columns, -factor) for columns, factor in sums))

    def serve(self, work):
        """E2 to E5, E8: a unit that serves is there, and serves one want, or is shared."""
        book, held = self.book, Held(self.book)
        for (j, step), runs in work.runs.items():
            place = book.jobs[j]["place"]
            alike = collections.defaultdict(list)
            for run, column in runs:
                alike[run.start, run.end, run.wants].append(column)
                for unit, h in itertools.product(run.units or [], range(book.now, run.end + 1)):
                    held.add(unit, place, h, (j, step), column)
            for (start, end, wants), same in alike.items():
                for want, count in collections.Counter(wants).items():
                    serving = []
                    for unit in book.units:
                        if book.serves(unit, want) and not book.out(unit) & set(range(start, end + 1)):
                            serving.append(self.program.column())
                            self.serving.append((serving[-1], (j, step), unit))
                            for h in range(start, end + 1):
                                held.add(unit, place, h, (j, step, want), serving[-1])
                    self.program.row(0, 0, (serving, 1), (same, -count))
        for j, job in work.jobs.items():
            if book.started(job):
                self.stay(work, j, job, held)
            if not book.over(job):
                for need in book.parked_needs(job):
                    self.park(work, job, need, held)
        for (unit, place, h, _), serving in held.columns.items():
            self.program.row(-math.inf, 0, (serving, 1), ([self.at[unit, place, h]], -1))

    def stay(self, work, j, job, held):
        """N1: a started job keeps its parked units until it ends (E7: or a step of it; one that is later ends in none of these
        half-days), and what its steps hold too where it has no end."""
        book, program, no_end = self.book, self.program, work.left_out[j]
        if book.over(job) and not book.partly(job):
            return
        for n, need in enumerate(job.get("parked", [])):
            if not book.held_now(job, need):
                continue
            last = [need["to"]] if "to" in need else [step["id"] for step in job["steps"]]
            for h in self.half_days:
                still, over = program.column(), program.column()
                program.row(1, 1, ([still, over], 1))
                for step in last:
                    program.row(-math.inf, 0, ([over], 1), (work.ends((j, step), lambda run: run.end < h), -1))
                for unit in need.get("units", []):
                    held.add(unit, job["place"], h, (j, n), still)
        for h in self.half_days:
            for step in job["steps"]:
                for unit in step.get("progress", {}).get("units", []):
                    held.add(unit, job["place"], h, (j, step["id"]), no_end)

    def park(self, work, job, need, held):
        """E3, E7. begun and over may err only towards holding longer, which never helps."""
        book, program, j = self.book, self.program, job["id"]
        n, kind, count, first, last = need
        parked = {unit: program.column() for unit in book.units if book.serves(unit, kind)}
        self.parking[j, n] = parked
        program.row(count, count, (list(parked.values()), 1), ([work.left_out[j]], count))
        for h in self.half_days:
            begun, over = [program.column()], [program.column()]
            for step in [first] if first else [step["id"] for step in book.planned(job)]:
                program.row(0, math.inf, (begun, 1), (work.starts((j, step), lambda run: run.start <= h), -1))
            if book.parked_on(job, last):
                self.park_on(work, job, h, parked, need, begun, held)
                continue
            for step in [last] if last else [step["id"] for step in job["steps"]]:
                program.row(-math.inf, 0, (over, 1), (work.ends((j, step), lambda run: run.end < h), -1))
            program.row(0, math.inf, (begun, 1), (over, -1))
            now = []
            for unit, column in parked.items():
                if h not in book.out(unit):
                    now.append(program.column())
                    program.row(-math.inf, 0, (now[-1:], 1), ([column], -1))
                    held.add(unit, job["place"], h, (j, n), now[-1])
            program.row(0, 0, (now, 1), (begun, -count), (over, count))

    def park_on(self, work, job, h, parked, need, begun, held):
        """E7: in part they stay to the last half-day; out they may be only once what is planned is over."""
        book, program, j = self.book, self.program, job["id"]
        n, _, count, *_ = need
        over, now = [program.column()], []
        for step in book.planned(job):
            program.row(-math.inf, 0, (over, 1), (work.ends((j, step["id"]), lambda run: run.end < h), -1))
        for unit, column in parked.items():
            now.append(program.column())
            program.row(-math.inf, 0, (now[-1:], 1), ([column], -1))
            held.add(unit, job["place"], h, (j, n), now[-1])
            if h in book.out(unit):
                program.row(-math.inf, 1, ([column], 1), (begun, 1), (over, -1))
        program.row(0, 0, (now, 1), (begun, -count))

    def share_trucks_and_spots(self, work):
        """H4, H7, H8: enough trucks for what each set of them alone may take; in overtime those whose crew works in it (W9). E6."""
        book = self.book
        for h in self.half_days:
            free = [truck for truck in book.trucks if book.truck_free(truck, h)]
            towed = [unit for unit in book.units if book.towed(unit)]
            for kind in (towed, [unit for unit in book.units if not book.towed(unit)]):
                hauls = [(unit, *haul) for unit in kind for haul in self.hauls[unit, h]]
                takers = {
                    (unit, p, q): frozenset(t for t in free if not book.unfit(t, unit) and not book.too_heavy(t, unit, p, q, h))
                    for unit, p, q, _ in hauls
                }
                # Hall: what only these trucks may take, they take; for each set of takers and each union of some.
                unions = {frozenset()}
                for of in set(takers.values()):
                    unions |= {of | union for union in unions}
                for union in unions:
                    of = [column for unit, p, q, column in hauls if takers[unit, p, q] <= union]
                    self.truck_row(work, h, of, sorted(union), kind is towed)
            for place, facts in book.places.items():
                if "trailer_spots" in facts:
                    self.program.row(-math.inf, facts["trailer_spots"], ([self.at[unit, place, h] for unit in towed], 1))

    def truck_row(self, work, h, hauls, trucks, towed):
        """As many hauls as the trucks make; a truck in overtime makes none but while its crew works."""
        makes = {truck: self.book.capacity(truck, towed) for truck in trucks}
        if self.book.works[h]:
            self.program.row(-math.inf, sum(makes.values()), (hauls, 1))
            return
        crew = {truck: self.book.trucks[truck].get("crew") for truck in trucks}
        at_work = [(work.over_time[crew[truck], h], -n) for truck, n in makes.items()]
        self.program.row(-math.inf, 0, (hauls, 1), *at_work)


def highs_lp(program, most, whole):
    """A program with each column's upper bound and whether it is whole, in HiGHS's words."""
    import highspy
    import numpy

    lp = highspy.HighsLp()
    n = len(program.cost)
    lp.num_col_, lp.num_row_ = n, len(program.rows)
    lp.col_cost_, lp.col_lower_ = numpy.array(program.cost, float), numpy.zeros(n)
    lp.col_upper_ = numpy.array(most, float)
    kinds = {True: highspy.HighsVarType.kInteger, False: highspy.HighsVarType.kContinuous}
    lp.integrality_ = [kinds[column] for column in whole]
    lp.row_lower_ = numpy.array([row[0] for row in program.rows], float)
    lp.row_upper_ = numpy.array([row[1] for row in program.rows], float)
    starts = [0, *itertools.accumulate(len(row[2]) for row in program.rows)]
    lp.a_matrix_.format_, lp.a_matrix_.start_ = highspy.MatrixFormat.kRowwise, numpy.array(starts)
    lp.a_matrix_.index_ = numpy.array([column for row in program.rows for column in row[2]])
    lp.a_matrix_.value_ = numpy.array([factor for row in program.rows for factor in row[2].values()], float)
    return lp


IMPOSSIBLE = object()


def least(program, seconds, solve):
    """The least cost in cents, when proved; else None. First of all, as few as can be of the columns that are scarce."""
    for few in range(len(program.scarce) + 1):
        rows = program.rows
        program.rows = rows + [(few, few, {column: 1 for column in program.scarce})] if program.scarce else rows
        found = solve(program, seconds)
        program.rows = rows
        if found is not IMPOSSIBLE:
            return found
    return None


def highs(program, seconds):
    return least(program, seconds, solve_highs)


def cpsat(program, seconds):
    return least(program, seconds, solve_cpsat)


def solve_highs(program, seconds):
    """The best cost in cents, when proved to the cent; else None."""
    import highspy

    solver = highspy.Highs()
    for option, value in dict(output_flag=False, time_limit=float(seconds), threads=2, mip_rel_gap=0.0, mip_abs_gap=0.5).items():
        solver.setOptionValue(option, value)
    solver.passModel(highs_lp(program, [1] * len(program.cost), [True] * len(program.cost)))
    solver.run()
    info = solver.getInfo()
    if solver.getModelStatus() in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
        return IMPOSSIBLE
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return round(info.objective_function_value) + program.constant


def cpsat_model(program):
    """The program in CP-SAT's words, and its variable for each column."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    column = [model.NewBoolVar("") for _ in program.cost]
    for low, high, terms in program.rows:
        low, high = (bound if math.isfinite(bound) else int(math.copysign(10**9, bound)) for bound in (low, high))
        model.AddLinearConstraint(sum(factor * column[c] for c, factor in terms.items()), low, high)
    model.Minimize(sum(cost * column[c] for c, cost in enumerate(program.cost)))
    return model, column


def solve_cpsat(program, seconds):
    """The best cost in cents, when proved; else None."""
    from ortools.sat.python import cp_model

    model, _ = cpsat_model(program)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = float(seconds), 2
    status = solver.Solve(model)
    if status == cp_model.INFEASIBLE:
        return IMPOSSIBLE
    if status != cp_model.OPTIMAL:
        return None
    return round(solver.ObjectiveValue()) + program.constant
