"""Talks to the service through the client that openapi-python-client made: call.py FOLDER BASE TOKEN PIECE."""

import sys
from datetime import datetime, timezone
from uuid import UUID, uuid4

folder, base, token, piece = sys.argv[1:]
sys.path.insert(0, folder)

from fullset_client import AuthenticatedClient  # noqa: E402
from fullset_client.api.defects import defect_report  # noqa: E402
from fullset_client.api.pieces import find_piece  # noqa: E402
from fullset_client.api.sync import list_changes  # noqa: E402
from fullset_client.models import DefectClass, Problem, ReportDefect, Severity  # noqa: E402



def uuid7():
    """A version 7 UUID (RFC 9562): milliseconds, then chance."""
    milliseconds = int(datetime.now(timezone.utc).timestamp() * 1000)
    return UUID(int=(milliseconds << 80) | (7 << 76) | (uuid4().int & (((1 << 12) - 1) << 64)) | (2 << 62) | (uuid4().int & ((1 << 62) - 1)))


client = AuthenticatedClient(base_url=base, token=token)
found = find_piece.sync(piece, client=client)
assert str(found.id) == piece and found.tag == "E1-RAM", found
assert found.place.at == "rig", found.place

report = ReportDefect(id=uuid4(), piece=UUID(piece), what="seen from Python", class_=DefectClass.OTHER, severity=Severity.OUT_OF_SERVICE)
answer = defect_report.sync(client=client, body=report, idempotency_key=str(uuid7()))
assert answer.outcome == "applied" and answer.records[0].kind == "defect", answer

page = list_changes.sync(client=client, limit="2000")
assert any(change.kind == "defect" and change.record["what"] == "seen from Python" for change in page.changes), page
assert isinstance(list_changes.sync(client=client, since="nonsense"), Problem)
print("python:", found.tag, datetime.now(timezone.utc).year > 2000)
