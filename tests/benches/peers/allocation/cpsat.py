"""The allocation given to a general-purpose constraint solver. Usage: cpsat.py LOADS SECONDS"""

import sys
import time

from ortools.sat.python import cp_model

import feeder

SCALE = 10_000


def main(loads: int, seconds: float) -> None:
    q = feeder.matrix(loads)
    model = cp_model.CpModel()
    on = [[model.new_bool_var(f"x{i}_{k}") for k in range(3)] for i in range(loads)]
    for i in range(loads):
        model.add_exactly_one(on[i])
    model.add(on[0][0] == 1)
    # Re(z_i z̄_j) is 1 on one phase and −1/2 on two: Q_ij·(1.5·same − 0.5).
    constant = sum(q[i][i] for i in range(loads))
    terms = []
    for i in range(loads):
        for j in range(i):
            same = model.new_bool_var(f"s{i}_{j}")
            for k in range(3):
                model.add(same >= on[i][k] + on[j][k] - 1)
                model.add(same <= 1 - on[i][k] + on[j][k])
            constant -= q[i][j]
            terms.append((round(3 * q[i][j] * SCALE), same))
    model.minimize(sum(weight * same for weight, same in terms))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    begun = time.perf_counter()
    status = solver.solve(model)
    taken = time.perf_counter() - begun
    phases = None
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        phases = [next(k for k in range(3) if solver.value(on[i][k])) for i in range(loads)]
    bound = solver.best_objective_bound / SCALE + constant
    feeder.report("constraint solver", loads, taken, q, phases, bound, status == cp_model.OPTIMAL)


if __name__ == "__main__":
    main(int(sys.argv[1]), float(sys.argv[2]))
