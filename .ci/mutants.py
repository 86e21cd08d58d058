"""Change the code in copies of the checkout, one place at a time, and count which changes the tests notice.

Usage: mutants.py ROOT SCRATCH PYTHON    (by .ci/mutants; MUTANTS, SEED and ONLY narrow, see there)
"""
import ast
import multiprocessing
import os
import random
import re
import shlex
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import tomllib
from cosmic_ray import plugins
from cosmic_ray.ast import ast_nodes, get_ast_from_path
from cosmic_ray.mutating import mutate_and_test
from cosmic_ray.work_item import MutationSpec, TestOutcome, WorkerOutcome

PROCESSES = 2
PYTEST = "-m pytest -x -q -p no:cacheprovider -p no:pytest_qgis --no-header --tb=no"


class Job(NamedTuple):
    """One mutant and how it is tested."""

    module: str
    mutation: MutationSpec
    command: str
    timeout_s: float


class Found(NamedTuple):
    """What became of a mutant: killed, survived, timed out or broken (cosmic-ray could not make it)."""

    job: Job
    outcome: str
    diff: str


def annotations(source: str) -> list:
    """Return where annotations begin and end, as pairs of (line, column)."""
    found = []
    for node in ast.walk(ast.parse(source)):
        for one in (getattr(node, "annotation", None), getattr(node, "returns", None)):
            if one is not None:
                found.append(((one.lineno, one.col_offset), (one.end_lineno, one.end_col_offset)))
    return found


def mutations_of(root: Path, module: str, config: dict) -> list:
    """List all mutations of a module by the operators that are wanted."""
    source = (root / module).read_text(encoding="utf-8")
    lines, silent = source.split("\n"), annotations(source)
    wanted = re.compile("(.*_)?(" + "|".join(config["operators"]) + ")")
    tree, found = get_ast_from_path(root / module), []
    for name in sorted(plugins.operator_names()):
        operator = plugins.get_operator(name)
        if operator.arguments() or not wanted.fullmatch(name.split("/")[1]):
            continue
        places = [place for node in ast_nodes(tree) for place in operator().mutation_positions(node)]
        for occurrence, (start, end) in enumerate(places):
            if not any(first <= start and end <= last for first, last in silent) and not any(
                    one in lines[start[0] - 1] for one in config["skipped_lines"]):
                found.append(MutationSpec(module, name, occurrence, start, end))
    return found


def modules(root: Path, config: dict, only: str) -> dict:
    """Give each module its tests."""
    found = {}
    for name, told in config["tests"].items():
        place = root / name
        files = sorted(place.rglob("*.py")) if place.is_dir() else [place]
        for file in files:
            key = str(file.relative_to(root))
            longest = max((one for one in config["tests"] if key == one or key.startswith(one + "/")), key=len)
            if longest == name and file.name != "__init__.py" and re.search(only, key):
                found[key] = told
    return found


def unchanged_s(command: str, folder: Path) -> float:
    """Run tests without any change, for they must pass; return how long they took [s]."""
    started = time.monotonic()
    done = subprocess.run(shlex.split(command), cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(f"mutants: unchanged, this fails: {command}\n{done.stdout[-2000:]}{done.stderr[-2000:]}")
    return time.monotonic() - started


def begin(folders) -> None:
    """Send a process into a copy of its own."""
    os.chdir(folders.get())


def tried(job: Job) -> Found:
    """Test one mutant in this process's copy."""
    result = mutate_and_test([job.mutation], job.command, job.timeout_s)
    if result.worker_outcome != WorkerOutcome.NORMAL or result.test_outcome == TestOutcome.INCOMPETENT:
        return Found(job, "broken", result.output or "")
    if result.output == "timeout":
        return Found(job, "timed out", result.diff)
    return Found(job, str(result.test_outcome.value), result.diff)


def told(found: list, number: dict) -> str:
    """Write the table: what was tried of each module, and what became of it."""
    heads = "mutants", "tried", "killed", "survived", "timed out", "killed %"
    lines = [f"{'module':34}" + "".join(f"{one:>11}" for one in heads)]
    weighed, total = 0.0, Counter()
    for module in [*number, ""]:
        count = Counter(one.outcome for one in found if one.job.module == module) if module else total
        tried_here = count["killed"] + count["survived"] + count["timed out"]
        if not tried_here:
            continue
        part = 1.0 - count["survived"] / tried_here
        there = number[module] if module else sum(number.values())
        figures = there, tried_here, count["killed"], count["survived"], count["timed out"]
        lines.append(f"{module or 'all that were tried':34}" + "".join(f"{one:11d}" for one in figures)
                     + f"{100 * part:11.1f}")
        if module:
            weighed += part * there
            total += count
    lines.append(f"each module by how many mutants it has: {100 * weighed / sum(number.values()):.1f} % killed "
                 "(a mutant that timed out is killed)")
    return "\n".join(lines)


def survivors(found: list) -> str:
    """List survivors: where, and what was changed."""
    lines = []
    for one in sorted(found, key=lambda one: (one.job.module, one.job.mutation.start_pos)):
        if one.outcome in ("survived", "broken"):
            changed = [line for line in one.diff.split("\n") if re.match(r"[-+](?![-+]{2})", line)]
            lines += [f"{one.outcome}: {one.job.module}:{one.job.mutation.start_pos[0]} "
                      f"{one.job.mutation.operator_name.split('/')[1]}", *changed]
    return "\n".join(lines)


def main(root: Path, scratch: Path, python: str) -> None:
    """Draw mutants, try them and tell what became of them."""
    config = tomllib.loads((root / ".ci" / "mutants.toml").read_text(encoding="utf-8"))
    wanted, seed = os.environ.get("MUTANTS") or "20", int(os.environ.get("SEED") or "1")
    copies = [scratch / str(i) for i in range(PROCESSES)]
    jobs, number, lasted = [], {}, {}
    for module, tests in modules(root, config, os.environ.get("ONLY", "")).items():
        every = mutations_of(copies[0], module, config)
        number[module] = len(every)
        if wanted != "all":
            # a generator of each module's own: what else is tried never changes the draw
            every = random.Random(f"{seed} {module}").sample(every, min(int(wanted), len(every)))
        files = " ".join(f"tests/science/test_{one}.py" for one in tests)
        slow = " or ".join(config["without"][one] for one in tests if one in config["without"])
        command = f"{shlex.quote(python)} {PYTEST} {files}" + (f" -k 'not ({slow})'" if slow else "")
        if command not in lasted:
            lasted[command] = unchanged_s(command, copies[0])
        timeout = max(config["times"] * lasted[command], config["least_s"])
        jobs += [Job(module, one, command, timeout) for one in every]
    random.Random(seed).shuffle(jobs)
    print(f"mutants: {len(jobs)} of {sum(number.values())}, seed {seed}", flush=True)
    folders, found = multiprocessing.Queue(), []
    for copy in copies:
        folders.put(copy)
    with multiprocessing.Pool(PROCESSES, begin, (folders,)) as pool:
        for one in pool.imap_unordered(tried, jobs):
            found.append(one)
            if one.outcome != "killed" or len(found) % 50 == 0:
                print(f"{len(found)}/{len(jobs)} {one.outcome}: {one.job.module}:{one.job.mutation.start_pos[0]}",
                      flush=True)
    report = f"{told(found, number)}\n\n{survivors(found)}\n"
    (scratch / "report.txt").write_text(report, encoding="utf-8")
    print(f"\n{report}\nmutants: also in {scratch / 'report.txt'}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3])
