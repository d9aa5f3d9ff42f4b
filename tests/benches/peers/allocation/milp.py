"""The allocation given to a general-purpose MILP solver. Usage: milp.py LOADS SECONDS"""

import sys
import time

import highspy

import feeder


def main(loads: int, seconds: float) -> None:
    q = feeder.matrix(loads)
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("time_limit", seconds)
    on = [[solver.addBinary() for _ in range(3)] for _ in range(loads)]
    for i in range(loads):
        solver.addConstr(on[i][0] + on[i][1] + on[i][2] == 1)
    solver.addConstr(on[0][0] >= 1)
    constant = sum(q[i][i] for i in range(loads))
    objective = 0
    for i in range(loads):
        for j in range(i):
            # All Q_ij are positive here, so the minimum presses `same` down to its lower bound.
            same = solver.addVariable(lb=0, ub=1)
            for k in range(3):
                solver.addConstr(same - on[i][k] - on[j][k] >= -1)
            constant -= q[i][j]
            objective = objective + 3 * q[i][j] * same
    begun = time.perf_counter()
    solver.minimize(objective)
    taken = time.perf_counter() - begun
    info = solver.getInfo()
    values = solver.getSolution().col_value
    phases = None
    if values:
        phases = [max(range(3), key=lambda k: values[on[i][k].index]) for i in range(loads)]
    proven = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    feeder.report("MILP solver", loads, taken, q, phases, info.mip_dual_bound + constant, proven)


if __name__ == "__main__":
    main(int(sys.argv[1]), float(sys.argv[2]))
