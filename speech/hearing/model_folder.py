"""Whether a folder holds a speech model, and a whole one: checked before the recogniser sees it.

A missing or damaged file makes the recogniser take the whole process down, so the model that
set-up fetches is compared file by file (40 ms for its 68 MB).
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from speech.hearing.decoder import ModelError

if TYPE_CHECKING:
    from pathlib import Path

NEEDED = (
    "am/final.mdl",
    "conf/mfcc.conf",
    "conf/model.conf",
    "graph/Gr.fst",
    "graph/HCLr.fst",
    "graph/phones/word_boundary.int",
    "ivector/final.ie",
)
"""Files without which a small model (one whose sentences can be chosen) does not work."""

KNOWN = {
    "am/final.mdl": "75370a0137f9daf8f469dedd7daa4513ae7a621f03240c6e512e2b50b656a7b6",
    "conf/mfcc.conf": "1e2228006d01d805ad1c267fee9f79709ca87ac51bd82b0e3f5c69ba543f0fc4",
    "conf/model.conf": "8f14cb1eeb07c762c371db648c6be688d347236155ca0f64fb13b6567a8ce81f",
    "graph/Gr.fst": "023c8b7e30704a9e37765c635c252e608a02f361235bf94abdcf2a5225d85b20",
    "graph/HCLr.fst": "5caafba3081e1646545ac6bff0dd7a318e53dcbdc86f237909ce1d2ac1293d34",
    "graph/disambig_tid.int": "9ad87cc166d0998f08f758f47a6223a120dfffcbee805c4849c3aa5e6bb3c0fc",
    "graph/phones/word_boundary.int": (
        "da199d9c991e0e84681ddbb34627b915b26302d50a8fdaa23c51e2bc3a50b5c3"
    ),
    "ivector/final.dubm": "8c5d7dd69d2122313baaf19f61f35dd3fa18b70c62ac0687e311e1c46e6daca7",
    "ivector/final.ie": "3f37faf90c375b9e4740b569398b5829ed9cc07d19be6d441f72c3b71d7efcc6",
    "ivector/final.mat": "ddd83586dc5f928cda8738b922c85ffe38fc789cb5f9151a712ca12f37265382",
    "ivector/global_cmvn.stats": "33be09afcc80059847a275c3d043b51f1ab954c7c2438ddbbf4745e8ba144ff9",
    "ivector/online_cmvn.conf": "a2f3571754b64297cb7efb2e7ca3df61995c5a45fcbb97188f90613552bb2dfe",
    "ivector/splice.conf": "9f0c5f7c82d18eaf25d8bce470efa9f7741f88411fe428774bc0a9bb69a24756",
}
"""SHA-256 of every file of the model that set-up fetches (vosk-model-en 0.3.45, Apache-2.0)."""
_KNOWN_UUID = "3beb6a171028dd374e7f35dd37553d74d1f1014b6cfe4b8a1a7b93c9a005729e"

_REMEDY = "Run set-up again to fetch it, or name another model."


def check_model(folder: Path) -> bool:
    """
    Return whether the folder holds the known model, whole; False if it holds some other model.

    ModelError with one sentence if it is missing, incomplete or damaged.
    """
    if not folder.is_dir():
        raise ModelError(f"There is no speech model in '{folder}'. {_REMEDY}")
    for name in NEEDED:
        path = folder / name
        if not path.is_file() or path.stat().st_size == 0:
            raise ModelError(f"The speech model in '{folder}' lacks its file '{name}'. {_REMEDY}")
    mark = folder / "uuid"
    if not mark.is_file() or _sha256(mark) != _KNOWN_UUID:
        return False
    for name, right in KNOWN.items():
        path = folder / name
        if not path.is_file() or _sha256(path) != right:
            raise ModelError(
                f"The speech model in '{folder}' is damaged: '{name}' is not what it should be. "
                f"{_REMEDY}"
            )
    return True


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
