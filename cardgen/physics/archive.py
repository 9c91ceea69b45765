"""Arrays and their recipe as one compressed npz file, the same bytes for the same content."""

import io
import json
import zipfile
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

_RECIPE = "recipe"
_NO_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip file can say


def npz_bytes(arrays: Mapping[str, NDArray[Any]], recipe: Mapping[str, Any]) -> bytes:
    """Return ``arrays`` and the ``recipe``, plain values, as the content of an npz file."""
    text = json.dumps(recipe, sort_keys=True, indent=1)
    items = {**arrays, _RECIPE: np.frombuffer(text.encode(), np.uint8)}
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, array in items.items():
            member = io.BytesIO()
            np.lib.format.write_array(member, np.asarray(array), allow_pickle=False)
            entry = zipfile.ZipInfo(f"{name}.npy", _NO_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, member.getvalue(), compresslevel=9)
    return buffer.getvalue()


def read_npz(data: bytes) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]:
    """Return the arrays and the recipe that :func:`npz_bytes` wrote."""
    with np.load(io.BytesIO(data), allow_pickle=False) as archive:
        arrays = {name: archive[name] for name in archive.files}
    return arrays, json.loads(arrays.pop(_RECIPE).tobytes())
