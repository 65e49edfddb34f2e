"""What stands in the way of a window on Linux, in one sentence, before Qt can abort.

Qt ends the process with SIGABRT when its platform plugin finds a library
missing or no screen to draw on. Both are looked up here first, with the same
calls: the plugin is loaded, the display is opened and closed.
"""

from __future__ import annotations

import ctypes
import re
import sys
from collections.abc import Iterator, Mapping
from importlib.util import find_spec
from pathlib import Path

from core.language import say

# As ldd lists them on an empty Debian 12: to draw at all, then for X11, then for Wayland.
APT_PACKAGES = (
    "libgl1",
    "libegl1",
    "libglib2.0-0",
    "libfontconfig1",
    "libdbus-1-3",
    "libxkbcommon0",
    "libxcb-cursor0",
    "libxcb-icccm4",
    "libxcb-keysyms1",
    "libxcb-xkb1",
    "libxcb-shape0",
    "libxkbcommon-x11-0",
    "libwayland-cursor0",
    "libwayland-egl1",
)
APT_LINE = "sudo apt-get install --no-install-recommends " + " ".join(APT_PACKAGES)
_WITHOUT_A_SCREEN = say(
    "start it from a desktop session, or use its commands, which need no screen "
    "('duskwright --help' lists them)."
)
_LIBRARY = re.compile(r"lib[\w.+-]*?\.so(?:\.\d+)*")


def start_trouble(environ: Mapping[str, str], platform: str = sys.platform) -> str | None:
    """Return one sentence about why no window can open, or None.

    Parameters
    ----------
    environ
        The process's environment: `QT_QPA_PLATFORM`, `WAYLAND_DISPLAY` and `DISPLAY` are read.
    platform
        As in `sys.platform`; the look-ups are for Linux, elsewhere only Qt's own import is tried.
    """
    if find_spec("PySide6") is None:
        return say(
            "Duskwright's window needs PySide6, which this Python does not have: "
            "start Duskwright with the run command of its README."
        )
    if (trouble := _import_trouble()) is not None or not platform.startswith("linux"):
        return trouble
    troubles = [_plugin_trouble(plugin, environ) for plugin in _plugins(environ)]
    if not troubles:
        return _no_screen(say("neither DISPLAY nor WAYLAND_DISPLAY is set"))
    # Qt falls back from one platform to the next, so one that works is enough.
    return None if None in troubles else troubles[0]


def drawing_trouble() -> str | None:
    """Return one sentence about why Qt cannot draw even without a screen, or None."""
    if find_spec("PySide6") is None:
        return say("A PDF needs PySide6, which this Python does not have.")
    return _import_trouble()


def _import_trouble() -> str | None:
    try:
        import PySide6.QtWidgets  # noqa: F401
    except ImportError as refused:
        return _library_sentence(str(refused))
    return None


def _library_sentence(loader_text: str) -> str:
    found = _LIBRARY.search(loader_text)
    return say(
        "Qt cannot load {library}: install what it needs with '{command}' and start again.",
        library=found.group() if found else say("one of its libraries ({why})", why=loader_text),
        command=APT_LINE,
    )


def _plugins(environ: Mapping[str, str]) -> Iterator[str]:
    """Yield the platform plugins that Qt would try, without their options."""
    if asked := environ.get("QT_QPA_PLATFORM"):
        yield from (name.partition(":")[0] for name in asked.split(";"))
        return
    if environ.get("WAYLAND_DISPLAY"):
        yield "wayland"
    if environ.get("DISPLAY"):
        yield "xcb"


def _plugin_trouble(plugin: str, environ: Mapping[str, str]) -> str | None:
    import PySide6

    folder = Path(PySide6.__file__).parent / "Qt" / "plugins" / "platforms"
    # Some releases part the Wayland plugin in two, others name it plainly.
    files = sorted(folder.glob(f"libq{plugin}*.so"))
    if folder.is_dir() and not files:
        return say(
            "Qt has no screen platform named '{name}', which QT_QPA_PLATFORM asks for: "
            "unset QT_QPA_PLATFORM and start again.",
            name=plugin,
        )
    for file in files:
        try:
            ctypes.CDLL(str(file))
        except OSError as refused:
            return _library_sentence(str(refused))
    return _screen_trouble(plugin, environ)


def _screen_trouble(plugin: str, environ: Mapping[str, str]) -> str | None:
    if plugin == "xcb" and not _x11_answers():
        name = "DISPLAY"
    elif plugin.startswith("wayland") and not _wayland_answers():
        name = "WAYLAND_DISPLAY"
    else:
        return None
    where = environ.get(name)
    if where:
        return _no_screen(say("nothing answers at {name} '{where}'", name=name, where=where))
    return _no_screen(say("{name} is not set", name=name))


def _no_screen(why: str) -> str:
    return say(
        "Duskwright finds no screen, for {why}: {way_out}", why=why, way_out=_WITHOUT_A_SCREEN
    )


def _x11_answers() -> bool:
    xcb = ctypes.CDLL("libxcb.so.1")
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connect.argtypes = (ctypes.c_char_p, ctypes.c_void_p)
    xcb.xcb_connection_has_error.argtypes = xcb.xcb_disconnect.argtypes = (ctypes.c_void_p,)
    connection = xcb.xcb_connect(None, None)
    answers = bool(xcb.xcb_connection_has_error(connection) == 0)
    xcb.xcb_disconnect(connection)
    return answers


def _wayland_answers() -> bool:
    wayland = ctypes.CDLL("libwayland-client.so.0")
    wayland.wl_display_connect.restype = ctypes.c_void_p
    wayland.wl_display_connect.argtypes = (ctypes.c_char_p,)
    wayland.wl_display_disconnect.argtypes = (ctypes.c_void_p,)
    display = wayland.wl_display_connect(None)
    if display:
        wayland.wl_display_disconnect(display)
    return bool(display)
