"""Files that a spreadsheet program wrote; README.md says how."""

from pathlib import Path

HERE = Path(__file__).parent
ENCODINGS = {"utf8": "UTF-8", "windows1252": "Windows-1252", "utf16": "UTF-16"}
DELIMITERS = {"comma": "commas", "semicolon": "semicolons", "tab": "tabs"}
TEXT_FILES = [
    (f"{encoding}.{delimiter}.csv", f"CSV, {said}, {words}")
    for encoding, said in ENCODINGS.items()
    for delimiter, words in DELIMITERS.items()
]


def content(name: str) -> bytes:
    return (HERE / name).read_bytes()
