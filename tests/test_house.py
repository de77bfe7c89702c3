"""The shape of the package: which room may import which, how long things are, what `import fesoil` loads, what is public.

The floors are those of DEVELOPERS.md. Imports within functions are left out: they are made where they are so that heavy libraries load late.
"""

import ast
import inspect
import subprocess
import sys
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import fesoil

PACKAGE = Path(fesoil.__file__).parent
FLOORS = {
    "errors": 1, "units": 1, "linear": 1, "elements": 1, "case": 2, "hand": 3, "checks": 3, "mesh": 3, "soils": 3, "water": 4, "result": 5, "solve": 6,
    "situations": 7, "study": 7, "show": 8, "cli": 9, "__main__": 9, "__init__": 9,
}  # fmt: skip
OWN_FLOOR = {("__main__", "cli")}
"""Pairs of rooms (who imports, what) on one floor that are meant so."""

LONGEST_MODULE, LONGEST_FUNCTION = 399, 50
HEAVY = ("gmsh", "matplotlib", "meshio", "scipy.optimize")


def modules():
    """Dotted name, below the package, of every module with its path."""
    return {".".join(path.relative_to(PACKAGE).with_suffix("").parts): path for path in sorted(PACKAGE.rglob("*.py"))}


def tree(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def at_module_level(node):
    """Import statements of a module that run when it is imported."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, (ast.Import, ast.ImportFrom)):
            yield child
        elif not isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)):
            yield from at_module_level(child)


def imported(name, path, known):
    """Modules of the package that a module imports when it is imported."""
    found = set()
    for statement in at_module_level(tree(path)):
        if isinstance(statement, ast.Import):
            found |= {alias.name for alias in statement.names}
        else:
            package = ["fesoil", *name.split(".")][: -statement.level] if statement.level else []
            start = ".".join([*package, *([statement.module] if statement.module else [])])
            found |= {f"{start}.{alias.name}" for alias in statement.names} | {start}
    inner = {full.removeprefix("fesoil.") for full in found if full.startswith("fesoil.")}
    inner |= {"__init__"} if "fesoil" in found and not inner else set()
    return {m if m in known else f"{m}.__init__" for m in inner if m in known or f"{m}.__init__" in known} - {name}


@pytest.fixture(scope="module")
def graph():
    known = modules()
    return {name: imported(name, path, known) for name, path in known.items()}


def room(name):
    return name.split(".")[0]


def test_every_room_has_a_floor():
    assert {room(name) for name in modules()} <= set(FLOORS)


def test_imports_go_down(graph):
    wrong = []
    for name, targets in graph.items():
        for target in targets:
            here, there = room(name), room(target)
            if here != there and FLOORS[there] >= FLOORS[here] and (here, there) not in OWN_FLOOR:
                wrong.append(f"{name} (floor {FLOORS[here]}) imports {target} (floor {FLOORS[there]})")
    assert not wrong, "\n".join(wrong)


def test_imports_do_not_go_round(graph):
    try:
        list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        pytest.fail(f"imports go round: {' -> '.join(error.args[1])}")


def test_the_reader_of_imports_sees_what_it_should(graph):
    """The checks above would pass on an empty graph."""
    assert {"result.state", "mesh.split", "elements.triangle"} <= graph["solve.stages"] | graph["result.state"]
    assert "case.__init__" in graph["__init__"] and "cli" in graph["__main__"]


def test_modules_and_functions_are_short():
    wrong = []
    for name, path in modules().items():
        lines = len(path.read_text(encoding="utf-8").splitlines())
        wrong += [f"{name}: {lines} lines"] if lines > LONGEST_MODULE else []
        for node in ast.walk(tree(path)):
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and node.end_lineno - node.lineno >= LONGEST_FUNCTION:
                wrong.append(f"{name}.{node.name}: {node.end_lineno - node.lineno + 1} lines")
    assert not wrong, "\n".join(wrong)


def test_the_hand_methods_share_no_finite_elements(graph):
    """The comparison is worth something only where the two methods are independent."""
    assert not {f"{n} imports {t}" for n, ts in graph.items() if room(n) == "hand" for t in ts if room(t) in ("elements", "mesh", "soils", "solve", "linear")}


@pytest.mark.parametrize("code", ["import fesoil", "from fesoil.cli import main; assert main(['check', {case!r}]) == 0"], ids=["import", "check"])
def test_light_imports(code):
    case = str(PACKAGE.parent / "cases" / "nested.toml")
    tail = f"; import sys; print('LOADED', [m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code.format(case=case) + tail], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1] == "LOADED []"


@pytest.mark.parametrize("name", [n for n, p in modules().items() if "__all__" in p.read_text(encoding="utf-8")])
def test_public_names_are_exported_and_described(name):
    module = __import__(".".join(["fesoil", *name.split(".")]).removesuffix(".__init__"), fromlist=["_"])
    own = {k for k, v in vars(module).items() if not k.startswith("_") and not inspect.ismodule(v) and k != "annotations"}
    assert set(module.__all__) <= own and len(set(module.__all__)) == len(module.__all__)
    if name.endswith("__init__"):
        spare = {k for k in own - set(module.__all__) if getattr(vars(module)[k], "__module__", "").startswith("fesoil") and name == "__init__"}
        assert not spare, f"exported but not in __all__: {spare}"
    assert not [k for k in module.__all__ if callable(getattr(module, k)) and not inspect.getdoc(getattr(module, k))]


def test_every_public_class_and_function_has_a_docstring():
    missing = []
    for name, path in modules().items():
        body = tree(path)
        for node in body.body:
            if isinstance(node, (ast.FunctionDef, ast.ClassDef)) and not node.name.startswith("_") and not ast.get_docstring(node):
                missing.append(f"{name}.{node.name}")
        if body.body and not ast.get_docstring(body):
            missing.append(name)
    assert not missing, "\n".join(missing)


def test_no_unused_imports():
    unused = []
    for name, path in modules().items():
        text = tree(path)
        if name.endswith("__init__"):
            continue
        names = {}
        for node in ast.walk(text):
            if isinstance(node, (ast.Import, ast.ImportFrom)) and getattr(node, "module", "") != "__future__":
                names |= {(alias.asname or alias.name.split(".")[0]): node.lineno for alias in node.names}
        used = {node.id for node in ast.walk(text) if isinstance(node, ast.Name)}
        # an annotation in quotes counts as a use
        used |= {word for node in ast.walk(text) if isinstance(node, ast.Constant) and isinstance(node.value, str) for word in [node.value] if word in names}
        unused += [f"{name}:{line}: {word}" for word, line in names.items() if word not in used]
    assert not unused, "\n".join(unused)
