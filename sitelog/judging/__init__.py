"""What stands on a site, held against what its sheets ask → verdicts.

In: the records of one site, its sheets, its tools and the day to judge as of. Out: a judged site.
Knows no clock, no database and no output format.
"""
