"""What lies beside the checkout on a developer's machine: the reference checker and public instances."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

BESIDE = Path(__file__).resolve().parents[4] / "shared"
INSTANCES = ("tiny", "small", "club", "tight", "block", "pro", "season", "clash")


def reference() -> ModuleType:
    """The reference checker, written apart from this project; skips the test where it is not there."""
    path = BESIDE / "check_plan.py"
    if not path.exists():
        pytest.skip(f"the reference checker is not at {path.name} in a folder 'shared' beside the checkout")
    spec = importlib.util.spec_from_file_location("check_plan", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def instance(name: str) -> dict[str, Any]:
    path = BESIDE / "instances" / f"{name}.json"
    if not path.exists():
        pytest.skip(f"the public instance {path.name} is not in a folder 'shared' beside the checkout")
    return json.loads(path.read_text(encoding="utf-8"))  # type: ignore[no-any-return]
