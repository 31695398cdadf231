"""The data of others is a fixture of every test of this folder."""

from tests.trials.open_data import open_data

__all__ = ["open_data"]
