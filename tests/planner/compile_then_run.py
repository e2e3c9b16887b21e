"""Run by test_tasks: warm up as a worker does, plan a problem with everything in it, and tell what compiled anew."""

from __future__ import annotations

import os
import random
import sys

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shared.settings")


def compiled() -> dict[str, int]:
    """Kernel -> kinds of arguments that it has machine code for."""
    from numba.core.dispatcher import Dispatcher

    modules = [module for name, module in list(sys.modules.items()) if name.startswith("planner.core.kernels.")]
    return {
        f"{module.__name__}.{name}": len(kernel.signatures)
        for module in modules
        for name, kernel in vars(module).items()
        if isinstance(kernel, Dispatcher)
    }


def main() -> None:
    import django

    django.setup()
    from planner.core.problem import Problem
    from planner.core.solve import solve
    from planner.tasks import compile_kernels
    from tests.planner.core.cases import roomy_problem

    compile_kernels()
    before = compiled()
    assert before, "no kernel found"
    planned = 0
    for chance in range(30):
        problem = Problem.from_json(roomy_problem(random.Random(chance)) | {"locks": []})
        planned += bool(solve(problem, seconds=60, iterations=100, workers=1).stations)
    assert planned > 10, "too few problems that can be planned"
    more = {name for name, kinds in compiled().items() if kinds > before.get(name, 0)}
    sys.stdout.write(", ".join(sorted(more)) or "nothing more compiled")


if __name__ == "__main__":
    main()
