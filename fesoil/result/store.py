"""What is kept on disk: one directory a run, written atomically, so that an interrupted run goes on from its last finished stage.

    manifest.json   versions, fingerprint, hash of each stage
    case.json       the case in internal units
    case.toml       the case file as it was read, where there was one
    mesh.npz        the mesh
    states/NN.npz   what stage NN left behind (00: the start), with its record in NN.json
    deeper_base/    the same for the deeper rigid base, where the case states one
    coarser_mesh/   the same, for both bases, on other meshes, where they were asked for
    finer_mesh/
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from contextlib import contextmanager
from dataclasses import asdict, fields, replace
from pathlib import Path

import numpy as np
import scipy

from fesoil.case.model import Case
from fesoil.case.plain import from_plain, to_plain
from fesoil.errors import ResultError
from fesoil.mesh.split import Mesh
from fesoil.result.reading import Result
from fesoil.result.state import Record, State

DEEPER, COARSER, FINER = "deeper_base", "coarser_mesh", "finer_mesh"


@contextmanager
def atomic(path):
    """A temporary path beside ``path`` that takes its place when the block ends well, and vanishes when it does not."""
    path = Path(path)
    handle, name = tempfile.mkstemp(prefix=f".{path.stem}-", suffix=path.suffix, dir=path.parent)
    os.close(handle)
    try:
        yield Path(name)
        os.chmod(name, 0o644)
        os.replace(name, path)
    finally:
        Path(name).unlink(missing_ok=True)


def write_json(path, content) -> None:
    """Write JSON atomically; numpy numbers become plain ones."""
    with atomic(path) as temporary:
        temporary.write_text(json.dumps(content, indent=1, default=_plain, allow_nan=False) + "\n")


def _plain(value):
    return value.tolist() if isinstance(value, (np.generic, np.ndarray)) else str(value)


def canonical(part) -> str:
    """Text of a dataclass that does not depend on the order of its tables."""
    return json.dumps(asdict(part), sort_keys=True, default=_plain)


def hashes(case: Case, mesh: Mesh, version: str) -> list[str]:
    """Hash of the start and of each stage: of the stage before, and of all that the stage itself adds."""
    ground = asdict(case)
    ground.pop("stages"), ground.pop("title"), ground.pop("drawing")
    arrays = b"".join(np.ascontiguousarray(getattr(mesh, f)).tobytes() for f in ("points", "triangles", "segments", "rank"))
    first = hashlib.sha256(json.dumps(ground, sort_keys=True, default=_plain).encode() + arrays + version.encode() + _tools()).hexdigest()
    chain = [first]
    for stage in case.stages:
        chain.append(hashlib.sha256((chain[-1] + canonical(stage)).encode()).hexdigest())
    return chain


def at_deeper_base(case: Case) -> Case | None:
    """The case with its deeper rigid base; None where it states none."""
    deeper = case.section.deeper_bottom_level
    return None if deeper is None else replace(case, section=replace(case.section, bottom_level=deeper, deeper_bottom_level=None))


def _tools() -> bytes:
    """What computes: this package's sources and the versions of numpy and scipy, so that a stage of another program is not gone on from."""
    sources = sorted(Path(__file__).parents[1].rglob("*.py"))
    return b"".join(source.read_bytes() for source in sources) + f"{np.__version__} {scipy.__version__}".encode()


class Store:
    """The directory of one run.

    Raises
    ------
    ResultError
        Where the directory cannot be written, holds something else, or holds a finished run of another case (which is replaced ``within`` the directory of
        a result, to which it belongs).
    """

    def __init__(self, directory, case: Case, mesh: Mesh, version: str, text: str, within: bool = False):
        self.path, self.version, self.hashes = Path(directory), version, hashes(case, mesh, version)
        if not within:
            self._refuse_another()
        try:
            (self.path / "states").mkdir(parents=True, exist_ok=True)
            self.mark(finished=False)  # first of all, so that a directory that was cut short here is known as ours by the next run
            write_json(self.path / "case.json", to_plain(case))
            if text:
                with atomic(self.path / "case.toml") as temporary:
                    temporary.write_text(text, encoding="utf-8")
            _save_arrays(self.path / "mesh.npz", {f.name: getattr(mesh, f.name) for f in fields(mesh)})
        except OSError as fault:
            raise ResultError(f"{self.path}: cannot be written ({fault.strerror}); choose another place with --out") from fault

    def _refuse_another(self):
        if self.path.exists() and not self.path.is_dir():
            raise ResultError(f"{self.path}: is a file, not a directory; choose another place with --out")
        manifest = self.path / "manifest.json"
        if not manifest.exists():
            if self.path.exists() and any(self.path.iterdir()):
                raise ResultError(f"{self.path}: holds files that are not a result; choose an empty or a new directory with --out")
            return
        found = read_json(manifest)
        if found.get("finished") and found.get("hashes") != self.hashes:
            raise ResultError(f"{self.path}: holds the finished run of another case or version; it is not overwritten. Choose another directory with --out")

    def mark(self, finished: bool) -> None:
        """Write the manifest."""
        write_json(self.path / "manifest.json", {"kind": "fesoil result", "fesoil_version": self.version, "finished": finished, "hashes": self.hashes})

    def save(self, index: int, state: State, record: Record) -> None:
        """Keep a stage; its record is written last, so that a stage without a record was not finished."""
        arrays = {f.name: getattr(state, f.name) for f in fields(state) if f.name != "springs"}
        names = sorted(state.springs)
        _save_arrays(self._file(index, "npz"), arrays | {"spring_names": np.array(names, dtype=str), "spring_memory": np.array([state.springs[n] for n in names])})
        write_json(self._file(index, "json"), _record_out(record))

    def _file(self, index, suffix):
        return self.path / "states" / f"{index:02d}.{suffix}"

    def load(self, index: int) -> tuple[State, Record] | None:
        """A stage kept before, None where there is none of this hash."""
        if not self._file(index, "json").exists():
            return None
        record = _record_in(self._file(index, "json"))
        if record.hash != self.hashes[index] or not record.converged:
            return None
        return _load_state(self._file(index, "npz")), record


def _record_out(record: Record) -> dict:
    content = asdict(record)
    content["equilibrium_error"] = None if record.equilibrium_error != record.equilibrium_error else record.equilibrium_error
    return content


def _record_in(path) -> Record:
    content = read_json(path)
    try:
        error = content["equilibrium_error"]
        return Record(**{**content, "equilibrium_error": float("nan") if error is None else error})
    except (KeyError, TypeError) as fault:
        raise _unreadable(path, "it is no record of this version") from fault


def _save_arrays(path, arrays) -> None:
    with atomic(path) as temporary, open(temporary, "wb") as file:
        np.savez(file, **arrays)


def _load_arrays(path) -> dict:
    """Arrays of a file by name.

    Raises
    ------
    ResultError
        Where it is not readable.
    """
    try:
        with open(path, "rb") as file, np.load(file) as kept:
            return {name: kept[name] for name in kept.files}
    except (OSError, EOFError, ValueError, TypeError, AttributeError, zipfile.BadZipFile) as fault:
        raise _unreadable(path, fault) from fault


def _load_state(path) -> State:
    kept = _load_arrays(path)
    try:
        springs = dict(zip(kept["spring_names"].tolist(), kept["spring_memory"].tolist()))
        return State(**{f.name: kept[f.name] for f in fields(State) if f.name != "springs"}, springs=springs)
    except KeyError as fault:
        raise _unreadable(path, f"it lacks {fault}") from fault


def _load_mesh(path) -> Mesh:
    kept = _load_arrays(path)
    try:
        return Mesh(**{f.name: kept[f.name] for f in fields(Mesh)} | {"box": tuple(kept["box"].tolist()), "size": float(kept["size"])})
    except KeyError as fault:
        raise _unreadable(path, f"it lacks {fault}") from fault


def _load_case(path) -> Case:
    try:
        return from_plain(read_json(path))
    except (KeyError, TypeError, AttributeError) as fault:
        raise _unreadable(path, "it is no case of this version") from fault


def _unreadable(path, why) -> ResultError:
    return ResultError(f"{path}: is not readable ({why}); remove the directory or choose another one")


def read_json(path) -> dict:
    """JSON table from a path.

    Raises
    ------
    ResultError
        Where it is not readable.
    """
    try:
        content = json.loads(Path(path).read_text(encoding="utf-8"))
    except (OSError, json.JSONDecodeError, UnicodeDecodeError) as fault:
        raise _unreadable(path, fault) from fault
    if not isinstance(content, dict):
        raise _unreadable(path, "it is no table")
    return content


def read_result(directory) -> Result:
    """Result kept in a directory.

    Raises
    ------
    ResultError
        Where the directory holds no result.
    """
    path = Path(directory)
    if not (path / "manifest.json").exists():
        raise ResultError(f"{path}: holds no result (no manifest.json)")
    manifest, case, mesh = read_json(path / "manifest.json"), _load_case(path / "case.json"), _load_mesh(path / "mesh.npz")
    states, records = [], []
    for index, expected in enumerate(manifest.get("hashes", [])):
        if not (path / "states" / f"{index:02d}.json").exists():
            break
        record = _record_in(path / "states" / f"{index:02d}.json")
        if record.hash != expected:
            break
        records.append(record)
        states.append(_load_state(path / "states" / f"{index:02d}.npz"))
    version = manifest.get("fesoil_version", "unknown")
    deeper, coarser, finer = (_within(path / name, expected, version) for name, expected in ((DEEPER, at_deeper_base(case)), (COARSER, case), (FINER, case)))
    if deeper and coarser and finer:
        deeper = replace(deeper, coarser=coarser.deeper, finer=finer.deeper)
    return Result(case, mesh, tuple(states), tuple(records), version, deeper, coarser, finer)


def _within(path, case: Case | None, version: str) -> Result | None:
    """Result of a case kept in a directory within another's, None where it is not there, of another case or version, or was cut short."""
    if case is None or not (path / "manifest.json").exists():
        return None
    found = read_result(path)
    ended = found.complete or (found.records and not found.records[-1].converged)
    return found if ended and found.case == case and found.version == version else None
