"""`sitelog explain`: the page of a finding, or the list of all. Exit status 0, or 2 for an unknown one."""

import argparse
import sys

from sitelog.cli.edges import complain
from sitelog.findings.catalog import CATALOG, GROUPS, page_path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `explain`."""
    parser.add_argument("slug", metavar="SLUG", nargs="?", help="the word in brackets (default: list all)")


def run(args: argparse.Namespace) -> int:
    """Print one page, or all slugs with their titles."""
    if args.slug is None:
        sys.stdout.write(_listing())
        return 0
    slug = args.slug.strip("[]").lower()
    if slug not in CATALOG:
        complain(_unknown(args.slug))
        return 2
    sys.stdout.write(page_of(slug))
    return 0


def page_of(slug: str) -> str:
    """The page of a slug of the catalog."""
    with open(page_path(slug), encoding="utf-8") as page:
        return page.read()


def _listing() -> str:
    width = max(map(len, CATALOG))
    text = ""
    for group, slugs in GROUPS.items():
        text += f"{group}\n"
        text += "".join(f"  {one.slug:<{width}}  {one.severity:<7}  {one.title}\n" for one in slugs)
    return text


def _unknown(word: str) -> str:
    from difflib import get_close_matches

    nearest = get_close_matches(word.lower(), CATALOG, 3, 0.5)
    hint = f"the nearest: {', '.join(nearest)}" if nearest else "`sitelog explain` lists all"
    return f"no finding is called {word!r}; {hint}"
