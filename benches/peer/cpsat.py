"""The peer in OR-Tools CP-SAT: the planning rules as an expert would write them with optional intervals and routes.

cpsat.py BOOK FROM WEEKS SECONDS        needs ortools 9.15, as tests/reference/run installs it

Each better plan is a JSON line, as plans.py writes it. A step is an interval that some crew works in some way, with
breaks for its pauses (work.py); a hold of a unit is a stop on a route of units alike, and a haul one more interval,
which the trucks share (routes.py). Covered: every rule up to "Rescheduling", but for hauls by way of a third place:
they are there only to clear a place whose trailer spots could run out, to its nearest base (E6). So no bound is given
("bound" is null): what the solver proves holds for such plans only, and is told as "model_bound" in the last line.
"""

import collections
import sys

from ortools.sat.python import cp_model

from plans import Race
from routes import Routes
from work import Work

# Variables above which one round of presolve has to do: forty jobs took 9 s with three rounds, 3 s with one.
LARGE = 3000


class Told(cp_model.CpSolverSolutionCallback):
    """Reads each better solution and prints it."""

    def __init__(self, race, work, routes):
        super().__init__()
        self.race, self.work, self.routes = race, work, routes

    def on_solution_callback(self):
        work, steps, parked = self.work, [], collections.defaultdict(list)
        held, hauls = self.routes.read(self.boolean_value, self.value)
        for (j, step), taken in work.taken.items():
            for lit, choice in taken:
                if self.boolean_value(lit):
                    span = work.spans[j, step]
                    start, end = (work.halves[self.value(time)] for time in (span.start, span.end))
                    steps.append((j, step, choice.way["id"], choice.crew, start, end, held[j, step]))
        for (j, step), units in held.items():
            if step is None:
                parked[j] += units
        left_out = work.hopeless + [j for j, done in work.done.items() if not self.boolean_value(done)]
        self.race.better(steps, parked, hauls, left_out)


def main(path, monday, weeks, seconds):
    race = Race(path, monday, weeks, seconds)
    work = Work(race.book)
    routes = Routes(work)
    work.model.minimize(sum(work.costs))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 2, race.left()
    if len(work.model.proto.variables) > LARGE:
        solver.parameters.max_presolve_iterations = 1
    status = solver.solve(work.model, Told(race, work, routes))
    ended = {cp_model.OPTIMAL: "best of its kind", cp_model.INFEASIBLE: "no plan of its kind"}
    race.end(ended.get(status, "time"), model_bound=round(solver.best_objective_bound / 100, 2))


if __name__ == "__main__":
    main(*sys.argv[1:])
