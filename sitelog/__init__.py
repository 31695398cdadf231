"""The site log of the installer of wall-mounted battery storage.

    import sitelog

    logs = sitelog.load(["jobs"])
    for joint in logs.ask("joints under torque"):
        print(joint["site"], joint["place"], joint["value"], joint.file, joint.line)

What comes of it is a record and an aid: local code, the maker's instructions and a licensed person decide.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sitelog.answers import Answer, Row
    from sitelog.asking.question.errors import QuestionError
    from sitelog.logs import Logs, load

__all__ = ["Answer", "Logs", "QuestionError", "Row", "__version__", "load"]

__version__ = "0.2.0"


def __getattr__(name: str) -> object:
    """What the package offers, imported when it is first asked for, so that commands start quickly."""
    if name in ("Logs", "load"):
        from sitelog import logs

        return getattr(logs, name)
    if name in ("Answer", "Row"):
        from sitelog import answers

        return getattr(answers, name)
    if name == "QuestionError":
        from sitelog.asking.question.errors import QuestionError

        return QuestionError
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
