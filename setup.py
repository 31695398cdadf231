"""Lists the packages: all under sitelog/ (folders of data too), and grammar/ as sitelog.grammar."""

from setuptools import find_namespace_packages, setup

found = find_namespace_packages(include=["sitelog", "sitelog.*"], exclude=["*.__pycache__"])
setup(packages=[*found, "sitelog.grammar"])
