"""Whether files that runs wrote are whole, and all of one run."""

import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import yaml

HIDDEN = re.compile(
    r"\.(?:simengine(?:\.baselines)?\.lock|.+\.part|.+\.parts(?:\.lock)?)"
)  # what a killed run may leave: a lock nobody holds, temporary names, parts to go on from


def broken(path: Path) -> str:
    """What is wrong with a file; nothing if it is whole."""
    try:
        if path.suffix == ".nc":
            import netCDF4

            with netCDF4.Dataset(path) as file:
                for variable in file.variables.values():
                    np.asarray(variable[...])
                assert file.getncattr("simengine_scenario")
        elif path.suffix == ".png":
            from PIL import Image

            with Image.open(path) as picture:
                picture.load()
        elif path.suffix == ".svg":
            ElementTree.parse(path)
        elif path.suffix == ".yaml":
            text = path.read_text()
            assert isinstance(yaml.safe_load(text), dict)
            assert text.endswith("\n")
    except Exception as error:
        return f"{path.name}: {type(error).__name__}: {error}"
    return ""


def visible(folder: Path) -> list[Path]:
    """Files that a person sees."""
    return sorted(path for path in folder.rglob("*") if path.is_file() and not hidden(path, folder))


def hidden(path: Path, folder: Path) -> bool:
    """Whether a file, or a folder around it, is hidden."""
    return any(part.startswith(".") for part in path.relative_to(folder).parts)


def left_behind(folder: Path) -> list[str]:
    """Names at the top of the folder that are hidden."""
    return sorted(path.name for path in folder.iterdir() if path.name.startswith("."))
