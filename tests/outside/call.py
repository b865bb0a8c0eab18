"""Talks to the service through the client that openapi-python-client made: call.py FOLDER BASE TOKEN PIECE PHOTO."""

import hashlib
import sys
from datetime import datetime, timezone
from io import BytesIO
from pathlib import Path
from uuid import UUID, uuid4

folder, base, token, piece, photo = sys.argv[1:]
sys.path.insert(0, folder)

from fullset_client import AuthenticatedClient  # noqa: E402
from fullset_client.api.defects import defect_report  # noqa: E402
from fullset_client.api.imports import import_register  # noqa: E402
from fullset_client.api.photos import put_photo  # noqa: E402
from fullset_client.api.pieces import find_piece  # noqa: E402
from fullset_client.api.sync import list_changes, send_commands  # noqa: E402
from fullset_client.models import (  # noqa: E402
    Changes,
    DefectClass,
    DefectReportCommand,
    Piece,
    PieceTakeOutCommand,
    PlaceRig,
    Problem,
    Push,
    ReportDefect,
    Severity,
    TakePieceOut,
)
from fullset_client.types import File  # noqa: E402


def uuid7():
    """A version 7 UUID (RFC 9562): milliseconds, then chance."""
    milliseconds = int(datetime.now(timezone.utc).timestamp() * 1000)
    return UUID(int=(milliseconds << 80) | (7 << 76) | (uuid4().int & (((1 << 12) - 1) << 64)) | (2 << 62) | (uuid4().int & ((1 << 62) - 1)))


client = AuthenticatedClient(base_url=base, token=token)
found = find_piece.sync(UUID(piece), client=client)
assert str(found.id) == piece and found.tag == "E1-RAM", found
assert isinstance(found.place, PlaceRig) and found.place.at == "rig", found.place

picture = Path(photo).read_bytes()
name = hashlib.sha256(picture).hexdigest()
sent = put_photo.sync_detailed(name, client=client, body=File(payload=BytesIO(picture), file_name="photo.jpg", mime_type="image/jpeg"))
assert sent.status_code == 201, sent

report = ReportDefect(id=uuid7(), piece=UUID(piece), what="seen from Python", class_=DefectClass.OTHER, severity=Severity.OUT_OF_SERVICE, photos=[name])
answer = defect_report.sync(client=client, body=report, idempotency_key=str(uuid7()))
assert answer.outcome == "applied" and answer.records[0].kind == "defect", answer

out = PieceTakeOutCommand(id=uuid7(), kind="piece.take_out", body=TakePieceOut(id=UUID(piece), reason="bent"))
again = DefectReportCommand(id=uuid7(), kind="defect.report", after=out.id, body=ReportDefect.from_dict(report.to_dict() | {"id": str(uuid7()), "photos": []}))
batch = send_commands.sync(client=client, body=Push(sent_at=datetime.now(timezone.utc), commands=[out, again]))
assert not isinstance(batch, Problem) and [one.outcome for one in batch.answers] == ["applied", "applied"], batch

file = b"Asset tag,Kind,Model,Assigned to\nPY-1,hand pump,Dorvan HP,Station 1 reserve\n"
run = import_register.sync(client=client, body=File(payload=BytesIO(file), file_name="pieces.csv", mime_type="text/csv"), dry_run=True)
assert run.dry_run and run.accepted == 1, run

page = list_changes.sync(client=client, limit=2000)
assert any(change.kind == "defect" and change.record["what"] == "seen from Python" for change in page.changes), page
assert isinstance(list_changes.sync(client=client, since="nonsense"), Problem)

# What a later server may answer is kept.
later = found.to_dict() | {"place": {"at": "locker", "locker": "B2"}, "state": "on_probation", "zz": 1}
kept = Piece.from_dict(later)
assert kept.state == "on_probation" and kept.place == {"at": "locker", "locker": "B2"}, kept
problem = Problem.from_dict({"type": "urn:fullset:too-warm", "title": "x", "status": 409, "code": "too-warm", "detail": "x"})
assert problem.code == "too-warm" and problem.status == 409, problem
changes = page.to_dict()
changes["changes"] = [{"kind": "weather", "id": str(uuid7()), "rev": 1, "record": {"id": "w"}}]
assert Changes.from_dict(changes).changes[0].kind == "weather"
print("python:", found.tag, datetime.now(timezone.utc).year > 2000)
