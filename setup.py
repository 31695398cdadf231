"""Lists the packages: all under sitelog/, and the top-level folder grammar/ as sitelog.grammar."""

from setuptools import find_packages, setup

setup(packages=[*find_packages(include=["sitelog", "sitelog.*"]), "sitelog.grammar"])
