"""The commands: what the program answers without Qt and without a screen."""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import re
import sys
from collections.abc import Iterable, Sequence
from typing import Any, NoReturn

from core.language import say

PROGRAM = "duskwright"
STATUS_REFUSED = 2
STATUS_INTERRUPTED = 130

_ABOUT = say(
    "Plan a hyperlapse through dusk or dawn from a small camera drone: when to press, "
    "with which settings, and whether the battery lasts. Without a command the window "
    "opens."
)
_NOW = say("The clock now: 17:25 on the shoot's night, sunset+37 or 2026-12-05T17:25")
_STATUS = say(
    "Ends with status 0, or with status 2 and one sentence that says what was wrong and what to do."
)
_SETTING = say(
    "Another value for this run, repeatable: any key of the plan, dotted, as in "
    "shoots.A.iso=200 or place.name=Cove; VALUE is JSON, or plain text where JSON "
    "fails."
)

_REPLACE = say("Write over a file of this name; without it such a file stays.")


class UsageError(Exception):
    """Words on the command line that do not fit; the text is one sentence."""


class _Help(argparse.HelpFormatter):
    """A page of help under heads in the pilot's language."""

    def add_usage(
        self,
        usage: str | None,
        actions: Iterable[argparse.Action],
        groups: Iterable[argparse._MutuallyExclusiveGroup],
        prefix: str | None = None,
    ) -> None:
        super().add_usage(usage, actions, groups, say("usage: ") if prefix is None else prefix)


class _Parser(argparse.ArgumentParser):
    """A parser that answers words it cannot use with one sentence."""

    def __init__(self, **given: Any) -> None:
        super().__init__(
            **given, formatter_class=_Help, epilog=_STATUS, allow_abbrev=False, add_help=False
        )
        self._positionals.title = say("positional arguments")
        self._optionals.title = say("options")
        about = say("show this help message and exit")
        self.add_argument("-h", "--help", action="help", default=argparse.SUPPRESS, help=about)

    def error(self, message: str) -> NoReturn:
        raise UsageError(usage_sentence(self.prog, message))


def main(argv: Sequence[str]) -> int:
    """Run one command and return the exit status of the program.

    Parameters
    ----------
    argv
        The words after the program's name.

    Returns
    -------
    int
        0 when done, 2 when something given could not be used or the answer could not be
        written: one sentence on standard error says what, and what to do.
    """
    try:
        words = parser().parse_args(with_negative_numbers(argv))
        return _put(_answer(words))
    except SystemExit as asked:
        # Help and version have been printed.
        return _put("") if not asked.code else STATUS_REFUSED
    except UsageError as refusal:
        return _refuse(str(refusal))
    except ValueError as refusal:
        from core.edit import PlanError

        if not isinstance(refusal, PlanError):
            raise
        return _refuse(str(refusal))
    except MemoryError:
        return _refuse(
            say(
                "The take has more frames than this computer's memory holds; shorten the "
                "clip or lower its frame rate."
            )
        )
    except KeyboardInterrupt:
        return STATUS_INTERRUPTED


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line; every value stays text."""
    top = _Parser(prog=PROGRAM, description=_ABOUT)
    top.add_argument("--version", action=_Version)
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True)
    _add_new(
        _command(commands, "new", say("Write a plan for a new place; a file is never replaced."))
    )
    opening = _command(commands, "open", say("Open the window with a plan."))
    opening.add_argument("plan", metavar="PLAN", help=say("The plan file, NAME.duskplan."))
    about = say("Show a shoot's night: whether it holds, light, clip, flight and findings.")
    _add_reading(_command(commands, "forecast", about))
    about = say("List the starts of a shoot's night, one a minute, with what each would keep.")
    _add_reading(_command(commands, "starts", about))
    about = say("List the best settings for a start, or start and settings for an aim.")
    _add_settings(_command(commands, "settings", about))
    about = say(
        "Rank what can still be done with a shoot from a moment on: late, early or in the air."
    )
    _add_rescue(_command(commands, "rescue", about))
    about = say("Plan several takes of one path in one night, a battery each.")
    _add_series(_command(commands, "series", about))
    about = say("Measure the stills of a take beside what the plan expected, and learn from them.")
    _add_review(_command(commands, "review", about))
    about = say("Write a draft of a take's clip: deflickered, levelled, steadied, 1080 lines.")
    _add_clip(_command(commands, "clip", about))
    about = say("List many nights: best start, span, chance, clip, decay and moon of each.")
    _add_nights(_command(commands, "nights", about))
    about = say("Write an evening for other programs: calendar, table, JSON, GPX, KML or GeoJSON.")
    _add_export(_command(commands, "export", about))
    about = say("Write the field card: a page for a phone, .html, or for paper, .pdf.")
    _add_card(_command(commands, "card", about))
    about = say("List the clear sky's luminance by direction, in cd/m².")
    _add_sky(_command(commands, "sky", about))
    return top


def _answer(words: argparse.Namespace) -> str:
    """Return what a parsed command prints."""
    # Late, so that help and usage do not wait for numpy.
    if words.command == "settings":
        from app.cli_settings import settings_answer

        return settings_answer(words)
    if words.command in ("rescue", "series"):
        from app.cli_rescue import rescue_answer, series_answer

        return rescue_answer(words) if words.command == "rescue" else series_answer(words)
    if words.command in ("review", "clip"):
        from app.cli_review import clip_answer, review_answer

        return review_answer(words) if words.command == "review" else clip_answer(words)
    if words.command == "nights":
        from app.cli_nights import nights_answer

        return nights_answer(words)
    if words.command in ("card", "export"):
        from app.cli_export import card_answer, export_answer

        return card_answer(words) if words.command == "card" else export_answer(words)
    from app.cli_commands import answer

    return answer(words)


def with_negative_numbers(argv: Sequence[str]) -> list[str]:
    """Return the words with each negative number tied to the option before it.

    argparse takes -42.5 for a value by itself, but -42,5 or -42.5° for an option.
    """
    words: list[str] = []
    for word in argv:
        if words and re.match(r"--[a-z-]+$", words[-1]) and re.match(r"-[\d.,]", word):
            words[-1] += f"={word}"
        else:
            words.append(word)
    return words


def usage_sentence(program: str, message: str) -> str:
    """Put what argparse found wrong into one sentence with the way out."""
    for pattern, sentence in _USAGE:
        if found := re.search(pattern, message, re.DOTALL):
            return sentence.format(program=program, words=found[1]).replace("\n", " ")
    return say(
        "These words do not fit '{program}'; '{program} --help' shows how it is called.",
        program=program,
    )


# From the words of argparse, which stay English, by what is the matter; the way out follows.
_USAGE = (
    (
        r"arguments are required: (.+)",
        say("'{program}' needs {words}; '{program} --help' shows how it is called."),
    ),
    (
        r"unrecognized arguments: (.+)",
        say("'{program}' has no use for {words}; '{program} --help' shows how it is called."),
    ),
    (
        r"argument (\S+): expected",
        say("{words} needs one value after it; '{program} --help' shows how it is called."),
    ),
    (
        r"argument (\S+): ignored explicit argument",
        say("{words} takes no value; '{program} --help' shows how it is called."),
    ),
    (
        r"argument COMMAND: invalid choice: (.+) \(choose from",
        say(
            "There is no command {words}, and a plan is opened with '{program} open PLAN'; "
            "'{program} --help' shows how it is called."
        ),
    ),
)


class _Version(argparse.Action):
    """Prints the program's version and ends."""

    def __init__(self, option_strings: Sequence[str], dest: str) -> None:
        about = say("Print the version.")
        super().__init__(option_strings, dest, nargs=0, default=argparse.SUPPRESS, help=about)

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from app.version import version

        sys.stdout.write(f"{PROGRAM} {version()}\n")
        parser.exit()


def _command(
    commands: argparse._SubParsersAction[_Parser],
    name: str,
    about: str,
) -> argparse.ArgumentParser:
    return commands.add_parser(name, help=about, description=about)


def _add_new(command: argparse.ArgumentParser) -> None:
    command.add_argument("plan", metavar="NAME.duskplan", help=say("The file to write."))
    add = command.add_argument
    add("--name", metavar="N", required=True, help=say("What the place is called."))
    add(
        "--latitude",
        metavar="X",
        required=True,
        help=say("Degrees, north positive: 38.2 or -33.5."),
    )
    add("--longitude", metavar="Y", required=True, help=say("Degrees, east positive."))
    add("--date", metavar="D", help=say("Date of both shoots, as 2026-10-17; today if left out."))
    add(
        "--elevation-m",
        metavar="M",
        default="0",
        help=say("Metres above sea level; 0 if left out."),
    )
    add("--time-zone", metavar="ZONE", help=say("As Europe/Rome; that of the place if left out."))


def _add_plan(command: argparse.ArgumentParser) -> None:
    command.add_argument("plan", metavar="PLAN", help=say("The plan file, NAME.duskplan."))
    add = command.add_argument
    add("--shoot", metavar="A|B", default="A", help=say("Which shoot; A if left out."))
    add("--set", metavar="KEY=VALUE", action="append", default=[], help=_SETTING)


def _add_export(command: argparse.ArgumentParser) -> None:
    _add_plan(command)
    add = command.add_argument
    add("--to", metavar="FILE", help=say("The file to write; printed if left out."))
    formats = "ics|csv|json|gpx|kml|geojson"
    add("--format", metavar=formats, help=say("That of the file's name if left out."))
    add("--replace", action="store_true", help=_REPLACE)


def _add_card(command: argparse.ArgumentParser) -> None:
    _add_plan(command)
    add = command.add_argument
    add(
        "--to", metavar="FILE", required=True, help=say("The file to write, NAME.html or NAME.pdf.")
    )
    add("--paper", metavar="A4|Letter", default="A4", help=say("Of a PDF; A4 if left out."))
    add("--replace", action="store_true", help=_REPLACE)


def _add_reading(command: argparse.ArgumentParser) -> None:
    _add_plan(command)
    add = command.add_argument
    add(
        "--format", metavar="text|json|csv", default="text", help=say("A page to read if left out.")
    )


def _add_settings(command: argparse.ArgumentParser) -> None:
    _add_reading(command)
    add = command.add_argument
    aims = "surest|longest|mixed_light|minute"
    add(
        "--aim", metavar=aims, default="surest", help=say("What to search for; surest if left out.")
    )
    start = say("This start alone: 17:04, 19 min or sunset+19; the whole night if left out.")
    add("--at", metavar="TIME", help=start)
    moment = say("With --aim minute: what the take must hold, lamps_on, lamps_off or a time.")
    add("--moment", metavar="WHEN", help=moment)
    keep = say("Leave a setting as it is, such as shutter_s; give --keep again for another.")
    add("--keep", metavar="SETTING", action="append", default=[], help=keep)
    _add_prefer(command)


def _add_rescue(command: argparse.ArgumentParser) -> None:
    _add_reading(command)
    command.add_argument("--now", metavar="TIME", required=True, help=f"{_NOW}.")
    airborne = say("The craft holds at the first station, having taken off as planned.")
    command.add_argument("--airborne", action="store_true", help=airborne)
    _add_prefer(command)


def _add_series(command: argparse.ArgumentParser) -> None:
    _add_reading(command)
    add = command.add_argument
    add("--batteries", metavar="N", default="2", help=say("Takes to plan, 1 to 4; 2 if left out."))
    swap = say("Minutes between a landing and the next take-off; 3 if left out.")
    add("--swap-min", metavar="M", default="3", help=swap)
    add("--now", metavar="TIME", help=say("{now}; the whole night if left out.", now=_NOW))
    _add_prefer(command)


def _add_review(command: argparse.ArgumentParser) -> None:
    _add_reading(command)
    command.add_argument("folder", metavar="FOLDER", help=say("Where the take's stills lie."))
    about = say(
        "Keep in the plan's file what the take taught, and its frames in a table beside it."
    )
    command.add_argument("--learn", action="store_true", help=about)
    about = say(
        "What the craft showed at the first frame and at the last one, in percent, as 91:43."
    )
    command.add_argument("--charge", metavar="FIRST:LAST", help=about)
    _add_tilt(command)


def _add_clip(command: argparse.ArgumentParser) -> None:
    add = command.add_argument
    add("plan", metavar="PLAN", help=say("The plan file, NAME.duskplan."))
    add("folder", metavar="FOLDER", help=say("Where the take's stills lie."))
    about = say("The clip, never replaced; without the video extra a folder of JPEGs of its name.")
    add("-o", "--output", metavar="OUT.mp4", required=True, help=about)
    add("--shoot", metavar="A|B", default="A", help=say("Which shoot; A if left out."))
    add("--set", metavar="KEY=VALUE", action="append", default=[], help=_SETTING)
    _add_tilt(command)


def _add_tilt(command: argparse.ArgumentParser) -> None:
    about = say("By how many degrees the camera looked higher than planned, lower with a minus.")
    command.add_argument("--pitch", metavar="DEGREES", help=about)
    about = say("By how many degrees the camera leaned to the right, to the left with a minus.")
    command.add_argument("--roll", metavar="DEGREES", help=about)


def _add_nights(command: argparse.ArgumentParser) -> None:
    add = command.add_argument
    add("plan", metavar="PLAN", help=say("The plan file, NAME.duskplan."))
    add("--twilight", metavar="dusk|dawn", required=True, help=say("Evenings or mornings."))
    add("--from", dest="first", metavar="D", required=True, help=say("First date, as 2026-10-17."))
    add("--to", dest="last", metavar="D", required=True, help=say("Last date; a year at most."))
    add("--shoot", metavar="A|B", default="A", help=say("Which shoot; A if left out."))
    add("--set", metavar="KEY=VALUE", action="append", default=[], help=_SETTING)
    forms = "text|json|csv|ics"
    add("--format", metavar=forms, default="text", help=say("A page to read if left out."))


def _add_prefer(command: argparse.ArgumentParser) -> None:
    prefer = say("Another preference for this run, repeatable, as iso_accepted=800.")
    command.add_argument("--prefer", metavar="KEY=VALUE", action="append", default=[], help=prefer)


def _add_sky(command: argparse.ArgumentParser) -> None:
    add = command.add_argument
    add(
        "--sun-altitude",
        metavar="DEG",
        required=True,
        help=say("Degrees above the horizon, -6 say."),
    )
    haze = say("clear, normal, hazy or an aerosol optical depth; normal if left out.")
    add("--haze", metavar="HAZE", default="normal", help=haze)
    add(
        "--height-m",
        metavar="H",
        default="0",
        help=say("Of the camera above the ground; 0 if left out."),
    )
    add("--format", metavar="csv|json", default="csv", help=say("A table if left out."))


def _put(text: str) -> int:
    """Write the answer, whole, and return the exit status."""
    if sys.stdout is None:
        return _refuse(say("Standard output is closed; give the answer a place to be written to."))
    try:
        if isinstance(sys.stdout, io.TextIOWrapper):
            sys.stdout.reconfigure(encoding="utf-8", errors="backslashreplace")
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read had enough.
        _drop_output()
        return 0
    except OSError as refusal:
        from core.safewrite import reason_text

        _drop_output()
        return _refuse(
            say(
                "The answer could not be written: {reason}; send it to another place and "
                "run the command again.",
                reason=reason_text(refusal),
            )
        )
    return 0


def _drop_output() -> None:
    """Let go of what is still to be written, so that the end of the process does not try again."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def _refuse(sentence: str) -> int:
    if sys.stderr is not None:
        with contextlib.suppress(OSError):
            sys.stderr.write(f"{' '.join(sentence.split())}\n")
            sys.stderr.flush()
    return STATUS_REFUSED
