"""Files on the disk: logs, sheets and kits as records; trial files, photos, signatures; tidying.

In: paths or bytes. Out: records and findings. Knows no verdicts.
"""
