"""An exact time-indexed linear model of the planning rules, unit by unit, for HiGHS and for CP-SAT.

Column by column: x a run (step, way, crew, start); y a job left out; at a unit, place and half-day; haul and evening a
unit, two places and half-day; z a unit that serves a run's want. All rows are linear; all columns are 0 or 1.
"""

import collections
import itertools
import math


class Program:
    """minimise cost, every column 0 or 1, rows (least, most, {column: factor})."""

    def __init__(self):
        self.cost, self.rows, self.constant = [], [], 0

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
    program = Program()
    work = Work(book, program)
    work.choose_runs()
    work.keep_order()
    work.share_crews()
    work.count_ends()
    yard = Yard(book, program)
    yard.move_units()
    yard.serve(work)
    yard.share_trucks_and_spots()
    return program


class Work:
    """W1, W3 to W6, W8; C1, C2, C4 to C6."""

    def __init__(self, book, program):
        self.book, self.program = book, program
        self.jobs = {j: job for j, job in book.jobs.items() if not book.later(job)}
        self.runs = collections.defaultdict(list)  # (job, step) -> [Run]
        self.left_out = {}

    def choose_runs(self):
        book = self.book
        for j, job in self.jobs.items():
            self.left_out[j] = self.program.column(book.left_out(job))
            for step in job["steps"]:
                fixed = step.get("fixed", {})
                for way, crew in itertools.product(book.ways(step), book.crews):
                    able = step["skill"] in book.crews[crew]["skills"]
                    if not able or fixed.get("crew", crew) != crew or fixed.get("way", way["id"]) != way["id"]:
                        continue
                    for start, (end, worked) in book.runs(job, step, crew, way).items():
                        if fixed.get("start", book.text(start)) == book.text(start):
                            column = self.program.column(round(way["extra"] * 100) + end)
                            wants = tuple(sorted(book.wants(step, way, job, start), key=str))
                            self.runs[j, step["id"]].append(Run(column, crew, start, end, worked, wants))
                self.program.row(1, 1, (columns(self.runs[j, step["id"]]), 1), ([self.left_out[j]], 1))

    def keep_order(self):
        """W6: who starts by t follows who ended in time; who must start soon may not start later."""
        for j, job in self.jobs.items():
            for k, step in enumerate(job["steps"]):
                mine = self.runs[j, step["id"]]
                for other, name, wait, within in self.book.links(job, k):
                    before = self.runs[other, name]  # none of a later job: then this one is left out
                    for t in range(self.book.H):
                        started = columns(run for run in mine if run.start <= t)
                        self.program.row(-math.inf, 0, (started, 1), (columns(r for r in before if r.end + 1 + wait <= t), -1))
                        if within is not None:
                            too_late = columns(run for run in mine if run.start > t + 1 + within)
                            self.program.row(-math.inf, 1, (columns(r for r in before if r.end <= t), 1), (too_late, 1))

    def share_crews(self):
        """W4, C4."""
        at_work = collections.defaultdict(list)
        for run in itertools.chain(*self.runs.values()):
            for h in run.worked:
                at_work[run.crew, h].append(run.column)
        for working in at_work.values():
            self.program.row(-math.inf, 1, (working, 1))
        for j, job in self.jobs.items():
            on_it = []
            for crew, facts in self.book.crews.items():
                if facts.get("own", True):
                    on_it.append(self.program.column(self.book.extra_crew))
                    for step in job["steps"]:
                        by_crew = columns(run for run in self.runs[j, step["id"]] if run.crew == crew)
                        self.program.row(-math.inf, 0, (by_crew, 1), (on_it[-1:], -1))
            first_is_free = self.program.column(-self.book.extra_crew)
            self.program.row(-math.inf, 0, ([first_is_free], 1), (on_it, -1))

    def count_ends(self):
        """C1 and C5: what each half-day costs that goes by before the job is over. Costs never fall with the end."""
        for j, job in self.jobs.items():
            costs = [self.book.end_cost(job, h) for h in range(self.book.H)]
            self.pay([self.left_out[j]], costs[0])
            for h in range(1, self.book.H):
                if costs[h] > costs[h - 1]:
                    over = self.program.column(costs[h - 1] - costs[h])
                    self.pay([self.left_out[j]], costs[h] - costs[h - 1])
                    for step in job["steps"]:
                        ended = columns(run for run in self.runs[j, step["id"]] if run.end < h)
                        self.program.row(-math.inf, 0, ([over], 1), (ended, -1))

    def pay(self, unless, cost):
        """A cost that every plan has, but for the columns that take it back."""
        self.program.constant += cost
        for column in unless:
            self.program.cost[column] -= cost


Run = collections.namedtuple("Run", "column crew start end worked wants")


def columns(runs):
    return [run.column for run in runs]


class Yard:
    """E1 to E6, H1 to H5, C3."""

    def __init__(self, book, program):
        self.book, self.program = book, program
        self.at = {key: program.column() for key in itertools.product(book.units, book.places, range(book.H))}
        self.hauls = collections.defaultdict(list)  # (unit, half-day) -> columns

    def move_units(self):
        book = self.book
        for unit, facts in book.units.items():
            leaves, leaves_late, comes, comes_next = (collections.defaultdict(list) for _ in range(4))
            for p, q in itertools.permutations(book.places, 2):
                minutes = book.minutes(unit, p, q)
                for h in range(book.H):
                    if minutes is None or not book.can_haul(unit, p, q, h):
                        continue
                    long, cost = minutes > book.same, book.haul_cost(unit, minutes)
                    starts = [self.program.column(cost)]
                    leaves[p, h] += starts
                    (comes_next if long else comes)[q, h] += starts
                    late = [self.program.column(cost)] if h % 2 and not long else []
                    leaves_late[p, h] += late
                    comes_next[q, h] += late
                    self.hauls[unit, h] += starts + late
            for p, h in itertools.product(book.places, range(book.H)):
                here, before, home = [self.at[unit, p, h]], [self.at[unit, p, h - 1]] if h else [], int(h == 0 and p == facts["place"])
                # Stood here to the end of the half-day before: there then, and not hauled away that evening.
                stood = (before, 1), (leaves_late[p, h - 1], -1)
                self.program.row(-home, -home, *stood, (comes_next[p, h - 1] + comes[p, h], 1), (leaves[p, h], -1), (here, -1))
                self.program.row(-home, math.inf, *stood, (leaves[p, h], -1))
                # In the evening it leaves from where it stands, if no haul brought it here in this half-day.
                self.program.row(0, math.inf, (here, 1), (comes[p, h], -1), (leaves_late[p, h], -1))

    def serve(self, work):
        """E2 to E5: a unit that serves is there, and serves one want."""
        book, held = self.book, collections.defaultdict(list)
        for (j, step), runs in work.runs.items():
            place = book.jobs[j]["place"]
            alike = collections.defaultdict(list)
            for run in runs:
                alike[run.start, run.end, run.wants].append(run)
            for (start, end, wants), same in alike.items():
                for want, count in collections.Counter(wants).items():
                    serving = []
                    for unit in book.units:
                        if book.serves(unit, want) and not book.out(unit) & set(range(start, end + 1)):
                            serving.append(self.program.column())
                            for h in range(start, end + 1):
                                held[unit, place, h].append(serving[-1])
                    self.program.row(0, 0, (serving, 1), (columns(same), -count))
        for j, job in work.jobs.items():
            if book.parked(job):
                self.park(work, j, job, held)
        for key, serving in held.items():
            self.program.row(-math.inf, 0, (serving, 1), ([self.at[key]], -1))

    def park(self, work, j, job, held):
        """E3. begun and over may err only towards holding longer, which never helps."""
        book, program = self.book, self.program
        parked = {
            (unit, want): program.column() for want in set(book.parked(job)) for unit in book.units if book.serves(unit, want)
        }
        counts = collections.Counter(book.parked(job))
        for want, count in counts.items():
            serving = [column for (_, kind), column in parked.items() if kind == want]
            program.row(count, count, (serving, 1), ([work.left_out[j]], count))
        for h in range(book.H):
            begun, over = [program.column()], [program.column()]
            for step in job["steps"]:
                runs = work.runs[j, step["id"]]
                program.row(0, math.inf, (begun, 1), (columns(run for run in runs if run.start <= h), -1))
                program.row(-math.inf, 0, (over, 1), (columns(run for run in runs if run.end < h), -1))
            program.row(0, math.inf, (begun, 1), (over, -1))
            for want, count in counts.items():
                now = []
                for (unit, kind), column in parked.items():
                    if kind == want and h not in book.out(unit):
                        now.append(program.column())
                        program.row(-math.inf, 0, (now[-1:], 1), ([column], -1))
                        held[unit, job["place"], h].append(now[-1])
                program.row(0, 0, (now, 1), (begun, -count), (over, count))

    def share_trucks_and_spots(self):
        """H4: enough trucks for every weight and heavier; E6."""
        book = self.book
        for h in range(book.H):
            free = [truck for truck in book.trucks if book.truck_free(truck, h)]
            carried = [column for unit in book.units if not book.towed(unit) for column in self.hauls[unit, h]]
            self.program.row(-math.inf, sum(book.capacity(truck, False) for truck in free), (carried, 1))
            towed = {unit: facts.get("weight_lb", 0) for unit, facts in book.units.items() if book.towed(unit)}
            for weight in set(towed.values()):
                strong = [truck for truck in free if book.trucks[truck].get("tow_lb", 0) >= weight]
                heavy = [column for unit, lb in towed.items() if lb >= weight for column in self.hauls[unit, h]]
                self.program.row(-math.inf, sum(book.capacity(truck, True) for truck in strong), (heavy, 1))
            for place, facts in book.places.items():
                if "trailer_spots" in facts:
                    self.program.row(-math.inf, facts["trailer_spots"], ([self.at[unit, place, h] for unit in towed], 1))


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


def highs(program, seconds):
    """The best cost in cents, when proved to the cent; else None."""
    import highspy

    solver = highspy.Highs()
    for option, value in dict(output_flag=False, time_limit=float(seconds), threads=2, mip_rel_gap=0.0, mip_abs_gap=0.5).items():
        solver.setOptionValue(option, value)
    solver.passModel(highs_lp(program, [1] * len(program.cost), [True] * len(program.cost)))
    solver.run()
    info = solver.getInfo()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return round(info.objective_function_value) + program.constant


def cpsat(program, seconds):
    """The best cost in cents, when proved; else None."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    column = [model.NewBoolVar("") for _ in program.cost]
    for least, most, terms in program.rows:
        least, most = (bound if math.isfinite(bound) else int(math.copysign(10**9, bound)) for bound in (least, most))
        model.AddLinearConstraint(sum(factor * column[c] for c, factor in terms.items()), least, most)
    model.Minimize(sum(cost * column[c] for c, cost in enumerate(program.cost)))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = float(seconds), 2
    if solver.Solve(model) != cp_model.OPTIMAL:
        return None
    return round(solver.ObjectiveValue()) + program.constant
