"""What the system lacks for an environment, for the window and for its tests, and how it is put right.

Only apt-get as root installs anything by itself; elsewhere the one command that does it is printed.
"""

import importlib
import importlib.util
import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

# Shared libraries that Qt's wheels expect from the system, and the Debian package that holds each.
QT_LIBRARIES = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libdbus-1.so.3": "libdbus-1-3",
    "libfontconfig.so.1": "libfontconfig1",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libgthread-2.0.so.0": "libglib2.0-0",
}
# What Qt needs besides for a window on an X server.
X_LIBRARIES = {
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-util.so.1": "libxcb-util1",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libX11-xcb.so.1": "libx11-xcb1",
}
FONTS, FONT_PACKAGE = "a font", "fonts-dejavu-core"
_FONT_FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts", "~/.fonts", "~/.local/share/fonts")
_LOAD = "import ctypes, sys; [ctypes.CDLL(name) for name in sys.argv[1:]]"


def has_screen() -> bool:
    """Whether a window can be shown here."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _loads(library: str) -> bool:
    """Whether a shared library can be loaded; tried in a process of its own, which it cannot disturb."""
    tried = subprocess.run(
        [sys.executable, "-c", _LOAD, library], stdin=subprocess.DEVNULL, capture_output=True, check=False
    )
    return tried.returncode == 0


def _has_font() -> bool:
    folders = (Path(name).expanduser() for name in _FONT_FOLDERS)
    return any(next(folder.rglob("*.[to]tf"), None) for folder in folders if folder.is_dir())


def lacking_for_environment() -> dict[str, str]:
    """What is missing to make a virtual environment, each with the Debian package that holds it."""
    package = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
    importlib.invalidate_caches()
    modules = ("venv", "ensurepip", "ctypes")
    return {f"Python's module {name}": package for name in modules if importlib.util.find_spec(name) is None}


def lacking_for_window() -> dict[str, str]:
    """What is missing to open a window, each with the Debian package that holds it; nothing outside Linux."""
    if sys.platform != "linux":
        return {}
    libraries = QT_LIBRARIES | X_LIBRARIES
    # One process finds out that all is there; only if not, one for each library says which is not.
    loaded = subprocess.run(
        [sys.executable, "-c", _LOAD, *libraries], stdin=subprocess.DEVNULL, capture_output=True, check=False
    )
    missing = {} if loaded.returncode == 0 else {n: p for n, p in libraries.items() if not _loads(n)}
    return missing if _has_font() else missing | {FONTS: FONT_PACKAGE}


def lacking_for_window_tests() -> dict[str, str]:
    """What is missing to test with real windows where there is no screen."""
    missing = lacking_for_window()
    if sys.platform == "linux" and shutil.which("Xvfb") is None:
        missing["the program Xvfb"] = "xvfb"
    return missing


def can_install() -> bool:
    """Whether this process may install Debian packages."""
    return shutil.which("apt-get") is not None and os.geteuid() == 0


def _in_words(lacking: dict[str, str]) -> str:
    return ", ".join(lacking)


def install_command(packages: Iterable[str]) -> str:
    """The one line that installs Debian packages for somebody who is not root."""
    install = "apt-get install --yes --no-install-recommends " + " ".join(sorted(set(packages)))
    if shutil.which("sudo"):
        return f"sudo apt-get update && sudo {install}"
    return "su -c " + shlex.quote(f"apt-get update && {install}")


def how_to_mend(lacking: dict[str, str]) -> str:
    """What is missing and what to do, for somebody whom we cannot do it for."""
    said = f"This system lacks {_in_words(lacking)}."
    if shutil.which("apt-get"):
        command = install_command(lacking.values())
        return f"{said} Install it with this command, then run this one again:\n\n    {command}\n"
    return f"{said} Install it with the system's package manager, then run this again."


def _apt_get(*words: str) -> None:
    environment = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    done = subprocess.run(["apt-get", *words], stdin=subprocess.DEVNULL, env=environment, check=False)
    if done.returncode != 0:
        raise SystemExit(f"apt-get {words[0]} failed (see above); what it should have done: apt-get {' '.join(words)}")


def supply(lacking: dict[str, str]) -> None:
    """Install what is missing as root on Debian; else end with what to do. Nothing missing is nothing done."""
    if not lacking:
        return
    if not can_install():
        raise SystemExit(how_to_mend(lacking))
    print(f"This system lacks {_in_words(lacking)}: installing.", flush=True)
    _apt_get("update", "-qq")
    _apt_get(
        "install", "-qq", "--yes", "-o", "Dpkg::Use-Pty=0", "--no-install-recommends", *sorted(set(lacking.values()))
    )
