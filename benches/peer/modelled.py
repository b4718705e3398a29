"""The peer for books with every field: the model of tests/reference, which knows every rule, in CP-SAT or in HiGHS.

modelled.py BOOK FROM WEEKS SECONDS cpsat | highs      needs ortools 9.15 and highspy 1.16, as tests/reference/run installs them

Each better plan is a JSON line, as plans.py writes it. The model is time-indexed and linear, unit by unit. But for one
thing it is as the reference has it: a unit is hauled only to places where something wants it, where it began, where it is
hired or to be home, and to driveways and lots, the places without a job. So no bound is given ("bound" is null); what the solver proves
is told as "model_bound" in the last line.
"""

import collections
import functools
import itertools
import sys

from plans import Race, with_trucks  # before the model: it shows where tests/reference is

import model


class Yard(model.Yard):
    def legs(self, unit):
        return itertools.permutations(sorted(self.of_use(unit)), 2)

    def of_use(self, unit):
        book, facts = self.book, self.book.units[unit]
        places = {facts["place"], facts.get("hire_place", facts["place"]), facts.get("home_by", facts)["place"]}
        places |= set(book.places) - {job["place"] for job in book.jobs.values()}
        for job in book.jobs.values():
            ways = [(step, way) for step in job["steps"] for way in book.ways(step)]
            wants = {want for step, way in ways for want in book.wants(step, way, job, 0)} | set(book.parked(job))
            if any(book.serves(unit, want) for want in wants):
                places.add(job["place"])
        return places


class Reader:
    """Plans from the values of columns."""

    def __init__(self, race, program, work, yard):
        self.race, self.book, self.program, self.work, self.yard = race, race.book, program, work, yard

    def plan(self, value):
        book, work, yard = self.book, self.work, self.yard
        units, cost = collections.defaultdict(list), self.program.constant
        cost += sum(price * value(column) for column, price in enumerate(self.program.cost) if price)
        for column, name, unit in yard.serving:
            if value(column) and unit not in units[name]:
                units[name].append(unit)
        hauls = [(h, late, unit, p, q) for column, h, late, unit, p, q in yard.moves if value(column)]
        out = [j for j, column in work.left_out.items() if value(column)]
        partly = [j for j, job in work.jobs.items() if j not in out and book.partly(job)]
        later = [dict(job=j) for j in book.later_jobs]
        later += [dict(job=j, steps=[step["id"] for step in book.jobs[j]["steps"] if book.is_later(book.jobs[j], step["id"])]) for j in partly]
        return {
            "plan": 1,
            "book_digest": self.race.digest,
            "from": str(book.start),
            "weeks": book.weeks,
            "cost": cost / 100,
            "steps": [row for name in work.runs for row in self.rows(name, value, units[name])],
            "parked": [row for j in work.jobs if j not in out for row in self.parked(j, value)],
            "hauls": with_trucks(book, hauls),
            "left_out": [dict(job=j, why="the solver left it out") for j in out],
            "later": later,
        }

    def rows(self, name, value, units):
        book, (j, step) = self.book, name
        for run, column in self.work.runs[name]:
            if value(column):
                crew, *helpers = run.team
                start, end = book.text(run.start), book.text(run.end)
                yield {"job": j, "step": step, "way": run.way, "crew": crew, "with": helpers, "start": start, "end": end, "units": units}

    def parked(self, j, value):
        """A row for each need where one gives `from` or `to` (E7), else one for all."""
        job, parking = self.book.jobs[j], self.yard.parking
        named = [[unit for unit, column in parking[j, n].items() if value(column)] for n, *_ in self.book.parked_needs(job)]
        if not any("from" in need or "to" in need for need in job.get("parked", [])):
            named = [sorted(set(itertools.chain(*named)))] if named else []
        return [dict(job=j, units=units) for units in named]


def nothing_done(book, program, work, yard):
    """What is known of the plan that does nothing, by column: both solvers begin with it."""
    known = {column: 0 for hauls in yard.hauls.values() for *_, column in hauls}
    known |= {column: 0 for runs in work.runs.values() for _, column in runs}
    known |= {column: 1 for column in work.left_out.values()}
    return known | {column: int(place == book.units[unit]["place"]) for (unit, place, _), column in yard.at.items()}


def by_cpsat(race, program, known, tell):
    from ortools.sat.python import cp_model

    cp, column = model.cpsat_model(program)
    for number, value in known.items():
        cp.add_hint(column[number], value)
    reading = lambda callback: tell(lambda n: callback.boolean_value(column[n]))

    class Told(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self):
            reading(self)

    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 2, race.left()
    status = solver.solve(cp, Told())
    bound = solver.best_objective_bound + program.constant
    race.end("best of its kind" if status == cp_model.OPTIMAL else "time", model_bound=round(bound / 100, 2))


def by_highs(race, program, known, tell):
    import highs

    count, bounds = len(program.cost), []
    lp = model.highs_lp(program, [1] * count, [True] * count)
    why = highs.by_highs(race, lp, lambda values: tell(lambda n: round(values[n])), bounds.append, known)
    race.end(f"{why} of its kind" if why == "best" else why, model_bound=round((bounds[-1] + program.constant) / 100, 2))


def main(path, monday, weeks, seconds, solver):
    race = Race(path, monday, weeks, seconds)
    # Asked for every crew, helper and start.
    lets = functools.cache(lambda j, k, h: type(race.book).lets(race.book, race.book.jobs[j], race.book.jobs[j]["steps"][k], h))
    race.book.lets = lambda job, step, h: lets(job["id"], next(k for k, row in enumerate(job["steps"]) if row is step), h)
    program, work, yard = model.parts(race.book, Yard)
    reader = Reader(race, program, work, yard)
    known = nothing_done(race.book, program, work, yard)
    {"cpsat": by_cpsat, "highs": by_highs}[solver](race, program, known, lambda value: race.tell(reader.plan(value)))


if __name__ == "__main__":
    main(*sys.argv[1:])
