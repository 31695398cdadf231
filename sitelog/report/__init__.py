"""A judged site → the pages that people sign for and look things up in: the handover, and the fleet at a
glance.

Facts first (`handover.py`, `overview.py`: frozen records of words and numbers, the same that `ask` gives),
then pictures of them (`pictures/`), then a page (`rendering.py` with the templates). What only these need
(Jinja2, Matplotlib, Pillow) is the extra `report`; nothing else in sitelog loads it.
"""
