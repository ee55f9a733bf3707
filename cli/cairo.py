"""Where cairo is on machines whose loader does not look there, and what to type where it is missing.

Python's cairo binding brings no library of its own. Linux loaders find the system's; on macOS and Windows the usual
package managers put it where a Python from elsewhere does not look.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

_MAC_FOLDERS = ("/opt/homebrew/lib", "/usr/local/lib", "/opt/local/lib", "/usr/lib")
_WINDOWS_FOLDERS = (r"C:\msys64\ucrt64\bin", r"C:\msys64\mingw64\bin", r"C:\Program Files\GTK3-Runtime Win64\bin")

_LINES = {
    "darwin": "brew install cairo",
    "win32": "winget install MSYS2.MSYS2, then in its window: pacman -S mingw-w64-ucrt-x86_64-cairo",
}
_LINUX_LINE = "sudo apt-get install libcairo2 (or your system's word for it: dnf install cairo, pacman -S cairo)"


def look_in_usual_places() -> None:
    """Adds the package managers' folders to where cairo is looked for; what the person has set already stands."""
    if sys.platform == "darwin":
        os.environ.setdefault("DYLD_FALLBACK_LIBRARY_PATH", ":".join(_MAC_FOLDERS))
    elif sys.platform == "win32" and "CAIROCFFI_DLL_DIRECTORIES" not in os.environ:
        present = [folder for folder in _WINDOWS_FOLDERS if Path(folder).is_dir()]
        os.environ["CAIROCFFI_DLL_DIRECTORIES"] = ";".join(present)
        os.environ["PATH"] = os.pathsep.join([*present, os.environ.get("PATH", "")])


def is_missing(error: BaseException) -> bool:
    """Whether this error is the binding's complaint that no cairo was found."""
    return isinstance(error, OSError) and error.errno is None and "cairo" in str(error)


def what_to_type() -> str:
    """How to get cairo on this platform, in words."""
    line = _LINES.get(sys.platform, _LINUX_LINE)
    return f"the cairo library is missing, which draws the sheets and pictures; to install it, type: {line}"
