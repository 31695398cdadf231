"""Mutation testing of the judge and of the physics: `python -m tests.mutation`. See README.md."""
