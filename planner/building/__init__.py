"""The parts of planner.build: rows fetched, and what each stands for in a planning problem."""
