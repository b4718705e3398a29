"""The peer in HiGHS: the time-indexed linear model of the planning rules, exact, two threads.

highs.py BOOK FROM WEEKS SECONDS        needs highspy 1.16, as tests/reference/run installs it

Each better plan is a JSON line, as plans.py writes it. Covered: every rule up to "Rescheduling", so that no plan under
the rules costs less than the solver's bound; a line gives the best so far. The model is in linear.py, and its work in
tests/reference/model.py; walk.py tells units alike apart.
"""

import itertools
import sys

import highspy
import numpy

from linear import Program, Work, Yard
from model import highs_lp
from plans import Race
from walk import Walk


class Peer:
    def __init__(self, race):
        self.race, self.book, self.program = race, race.book, Program()
        self.work = Work(self.book, self.program)
        self.yard = Yard(self.book, self.program, self.work)
        self.ways = {name: list(self.ways_of(*name)) for name in self.work.runs}

    def ways_of(self, j, name):
        """The way of each run, in the order in which the work lists them."""
        job = self.book.jobs[j]
        step = next(step for step in job["steps"] if step["id"] == name)
        fixed = step.get("fixed", {})
        for way, crew in itertools.product(self.book.ways(step), self.book.crews):
            able = step["skill"] in self.book.crews[crew]["skills"]
            if able and fixed.get("crew", crew) == crew and fixed.get("way", way["id"]) == way["id"]:
                for start in self.book.runs(job, step, (crew,), way):
                    if fixed.get("start", self.book.text(start)) == self.book.text(start):
                        yield way["id"]

    def tell(self, values):
        """Prints the plan of a solution."""
        value = lambda column: round(values[column])
        done = {}
        for name, runs in self.work.runs.items():
            for (run, column), way in zip(runs, self.ways[name], strict=True):
                if value(column):
                    done[name] = run, way
        walk = Walk(self.book, self.yard, value, {name: run for name, (run, _) in done.items()})
        steps = [(*name, way, run.crew, run.start, run.end, walk.units[name]) for name, (run, way) in done.items()]
        parked = {j: units for (j, step), units in walk.units.items() if step is None}
        left_out = [j for j, column in self.work.left_out.items() if value(column)]
        self.race.better(steps, parked, walk.hauls, left_out)

    def solve(self):
        program = self.program
        lp = highs_lp(program, program.most, program.whole)
        return by_highs(self.race, lp, self.tell, lambda bound: self.race.note(bound + program.constant))


def by_highs(race, lp, tell, note, known=None):
    """Solves until the race is over, from the columns that are known of some plan: tells the values of each better solution,
    notes each bound; why it ended."""
    solver = highspy.Highs()
    solver.silent()
    # Probing takes minutes on these models, and looks at no clock.
    options = dict(threads=2, mip_rel_gap=0.0, mip_abs_gap=0.4, presolve_rule_off=1 << 15)
    for option, setting in options.items():
        solver.setOptionValue(option, setting)
    solver.passModel(lp)
    if known:
        solver.setSolution(len(known), numpy.array(list(known)), numpy.array(list(known.values()), float))
    solver.setOptionValue("time_limit", race.left())

    def improved(event):
        note(event.data_out.mip_dual_bound)
        tell(event.data_out.mip_solution)

    def interrupted(event):
        note(event.data_out.mip_dual_bound)
        event.data_in.user_interrupt = race.elapsed() > race.seconds

    solver.cbMipImprovingSolution.subscribe(improved)
    solver.cbMipInterrupt.subscribe(interrupted)
    solver.run()
    note(solver.getInfo().mip_dual_bound)
    found = solver.getInfo().primal_solution_status
    if found == highspy.SolutionStatus.kSolutionStatusFeasible:
        tell(solver.getSolution().col_value)  # presolve may have found it
    return "best" if solver.getModelStatus() == highspy.HighsModelStatus.kOptimal else "time"


def main(path, monday, weeks, seconds):
    race = Race(path, monday, weeks, seconds)
    race.end(Peer(race).solve())


if __name__ == "__main__":
    main(*sys.argv[1:])
