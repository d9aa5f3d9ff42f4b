"""Runs the processes in turn and prints the best time, the peak memory and the ratios."""

import os
import time

env = os.environ
work, here, runs = env["WORK"], env["HERE"], int(env["RUNS"])
python = os.path.join(env["VENV"], "bin", "python")
tapoff = env["TAPOFF"]


def run(command):
    """Seconds and megabytes of one process."""
    begun = time.perf_counter()
    child = os.fork()
    if child == 0:
        silent = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silent, 1)
        os.execv(command[0], command)
    _, status, usage = os.wait4(child, 0)
    seconds = time.perf_counter() - begun
    if status != 0:
        raise SystemExit(f"{command} failed")
    return seconds, usage.ru_maxrss / 1024, usage.ru_utime + usage.ru_stime


def one(samples):
    return os.path.join(work, f"log-{samples}")


commands = {"tapoff": [tapoff, "energy", one(1)]}
if env.get("TEN"):
    commands["tapoff, ten times the rows"] = [tapoff, "energy", one(10)]
else:
    for peer in ["duckdb", "polars", "pandas"]:
        script = os.path.join(here, f"with_{peer}.py")
        commands[peer] = [python, script, os.path.join(one(1), "log.csv")]

# In turn, so that whatever else the machine does meets all of them.
results = {name: [] for name in commands}
for _ in range(runs):
    for name, command in commands.items():
        results[name].append(run(command))

own = min(seconds for seconds, _, _ in results["tapoff"])
print(f"{'':28} {'wall':>8} {'cpu':>8} {'peak':>8} {'of tapoff':>9}")
for name, measured in results.items():
    seconds = min(seconds for seconds, _, _ in measured)
    cpu = min(cpu for _, _, cpu in measured)
    memory = max(memory for _, memory, _ in measured)
    print(f"{name:28} {seconds:6.2f} s {cpu:6.2f} s {memory:5.0f} MB {seconds / own:8.2f}x")
