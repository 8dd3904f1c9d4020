"""
The journal: every record of every piece, kept so that nothing which was acknowledged is lost.

`journal` says what a journal is; `sqlite` keeps it in one file, `memory` in memory; `exchange`
writes it as lines of JSON and brings two together; `salvage` saves what a damaged file still
holds; `errors` are the sentences for what can go wrong.
"""

from __future__ import annotations
