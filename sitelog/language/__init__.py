"""One line → one entry → one record: the grammars, the parser on top of Lark, and the kinds of entry.

In: the text of a line. Out: an entry, a typed record and what is wrong with them. Knows no files, no
verdicts.
"""
