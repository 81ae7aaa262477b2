"""The child's entry::

    python -m worker.proof FILE OUT --request REQUEST.json

REQUEST.json holds a :class:`worker.proof.order.Order`. On failure the last line on standard output is a JSON object:
``{"limit": ...}`` with status 3 when memory or room for the proof ran out, ``{"fault": ..., "passes": ...}`` with
status 1 otherwise; ``passes`` where it was the machine's doing.
"""

from __future__ import annotations

import argparse
import errno
import json
import sys
from pathlib import Path

import pikepdf

from worker.proof.making import NoProof, make_proof
from worker.proof.order import Order

LIMIT_STATUS = 3


def main(arguments: list[str] | None = None) -> int:
    """See the module's own words."""
    parser = argparse.ArgumentParser(prog="python -m worker.proof")
    parser.add_argument("file", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--request", type=Path, required=True)
    asked = parser.parse_args(arguments)
    try:
        make_proof(asked.file, Order.model_validate_json(asked.request.read_bytes()), asked.out)
    except MemoryError:
        _say({"limit": "memory", "message": "making the proof takes too much memory"})
        return LIMIT_STATUS
    except NoProof as error:
        _say({"fault": f"no proof can be made of this file: {error}", "passes": False})
        return 1
    except (pikepdf.PdfError, RuntimeError, OSError, ValueError) as error:
        if isinstance(error, OSError) and error.errno == errno.EFBIG:
            _say({"limit": "proof", "message": "its proof would be far larger than the file itself"})
            return LIMIT_STATUS
        _say({"fault": str(error).rstrip("."), "passes": isinstance(error, OSError)})
        return 1
    return 0


def _say(message: dict[str, object]) -> None:
    sys.stdout.write(json.dumps(message) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
