"""Rewrite the kernels' source so that every array lies in a pool.

``P.j_due[j]`` becomes ``N[N[k] + j]`` (``R[N[k] + j]`` for reals), with ``k`` the field's slot; a bare
``P.jobs`` becomes ``N[k]``; an array handed to another function becomes its place in the pool. Functions
take the pools ``N`` and ``R`` instead of ``P`` and ``S``. A store to the state goes through the journal,
which makes every change undoable. Statements, their order and their arithmetic stay as written.
"""

from __future__ import annotations

import ast
import inspect
from types import ModuleType

from scheduler.planning.compiled.layout import Field, fields

#: Annotations of a function's parameters and results, and what they are compiled to.
SIGNATURES = {
    "int": "int64",
    "float": "float64",
    "Ints": "int64",
    "Floats": "int64",
    "list[int]": "int64",
    "None": "void",
    "tuple[float, int]": "Tuple((float64, int64))",
    "tuple[int, int]": "UniTuple(int64, 2)",
}
#: Inside, a pool is a bare address: an array would take seven registers in every call.
WHOLE_POOL, REAL_POOL = "CPointer(int32)", "CPointer(float64)"
REAL_ARRAYS, WHOLE_ARRAYS = {"Floats"}, {"Ints", "list[int]"}


class CantTranslate(TypeError):
    """The kernels use something that has no place in the pools."""


class _Rewriter(ast.NodeTransformer):
    """Rewrites one function."""

    def __init__(self, function: ast.FunctionDef, known: set[str]) -> None:
        self.known = known
        #: Local names that stand for an array: real, logged.
        self.arrays: dict[str, tuple[bool, bool]] = {}
        for argument in function.args.args:
            kind = ast.unparse(argument.annotation) if argument.annotation is not None else ""
            if kind in REAL_ARRAYS | WHOLE_ARRAYS:
                self.arrays[argument.arg] = (kind in REAL_ARRAYS, False)

    def _field(self, node: ast.expr) -> Field | None:
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in "PS":
            return fields()[node.value.id, node.attr]
        return None

    def _place(self, node: ast.Subscript) -> tuple[ast.expr, bool, bool] | None:
        """Place in the pool of ``array[index]``: its expression, whether real, whether logged."""
        field = self._field(node.value)
        if field is not None:
            base: ast.expr = _item("N", ast.Constant(field.slot))
            real, logged = field.real, field.logged
        elif isinstance(node.value, ast.Name) and node.value.id in self.arrays:
            base = ast.Name(node.value.id, ast.Load())
            real, logged = self.arrays[node.value.id]
        else:
            return None
        return ast.BinOp(base, ast.Add(), self.visit(node.slice)), real, logged

    def visit_Attribute(self, node: ast.Attribute) -> ast.expr:
        field = self._field(node)
        if field is None:
            self.generic_visit(node)
            return node
        return _item("R" if field.real and not field.array else "N", ast.Constant(field.slot))

    def visit_Subscript(self, node: ast.Subscript) -> ast.expr:
        place = self._place(node)
        if place is None:
            self.generic_visit(node)
            return node
        at, real, _ = place
        return _item("R" if real else "N", at)

    def visit_Assign(self, node: ast.Assign) -> ast.stmt | list[ast.stmt]:
        if len(node.targets) == 1 and isinstance(node.targets[0], ast.Name):
            field = self._field(node.value)
            if field is not None and field.array:
                self.arrays[node.targets[0].id] = (field.real, field.logged)
        value = self.visit(node.value)
        out: list[ast.stmt] = []
        plain = []
        for target in node.targets:
            place = self._place(target) if isinstance(target, ast.Subscript) else None
            if place is None:
                plain.append(target)
                continue
            if len(node.targets) > 1:
                raise CantTranslate(f"line {node.lineno}: one target at a time")
            out.append(self._store(*place, value))
        if plain:
            out.append(ast.Assign(plain, value))
        return out

    def visit_AugAssign(self, node: ast.AugAssign) -> ast.stmt:
        value = self.visit(node.value)
        place = self._place(node.target) if isinstance(node.target, ast.Subscript) else None
        if place is None:
            return ast.AugAssign(node.target, node.op, value)
        at, real, logged = place
        if not logged:
            return ast.AugAssign(_item("R" if real else "N", at, store=True), node.op, value)
        if not isinstance(node.op, ast.Add | ast.Sub):
            raise CantTranslate(f"line {node.lineno}: only += and -= on the state")
        if isinstance(node.op, ast.Sub):
            value = ast.UnaryOp(ast.USub(), value)
        return ast.Expr(_call("_add_real" if real else "_add_whole", at, value))

    def _store(self, at: ast.expr, real: bool, logged: bool, value: ast.expr) -> ast.stmt:
        if logged:
            return ast.Expr(_call("_put_real" if real else "_put_whole", at, value))
        return ast.Assign([_item("R" if real else "N", at, store=True)], value)

    def visit_Call(self, node: ast.Call) -> ast.expr:
        if isinstance(node.func, ast.Name) and node.func.id in self.known:
            rest = [self.visit(a) for a in node.args if not (isinstance(a, ast.Name) and a.id in ("P", "S"))]
            return _call(node.func.id, *rest)
        self.generic_visit(node)
        return node


def _item(pool: str, at: ast.expr, store: bool = False) -> ast.Subscript:
    return ast.Subscript(ast.Name(pool, ast.Load()), at, ast.Store() if store else ast.Load())


def _call(name: str, *rest: ast.expr) -> ast.Call:
    return ast.Call(
        ast.Name(name, ast.Load()), [ast.Name("N", ast.Load()), ast.Name("R", ast.Load()), *rest], []
    )


def _signature(function: ast.FunctionDef) -> tuple[str, list[str]]:
    """What a function gives and takes, pools apart, as compiled types."""
    kinds = []
    for argument in function.args.args:
        kind = ast.unparse(argument.annotation) if argument.annotation is not None else ""
        if argument.arg in ("P", "S", "N", "R"):
            continue
        kinds.append(SIGNATURES[kind])
    result = SIGNATURES[ast.unparse(function.returns)] if function.returns is not None else "void"
    return result, kinds


def _calls(function: ast.FunctionDef, known: set[str]) -> set[str]:
    return {n.id for n in ast.walk(function) if isinstance(n, ast.Name) and n.id in known}


def translate(modules: list[ModuleType], journal: ModuleType, entries: tuple[str, ...]) -> str:
    """Source of one module with every function of the kernels, callees first.

    Parameters
    ----------
    modules : list of module
        The kernels' modules.
    journal : module
        Functions that already speak to the pools; taken as they are.
    entries : tuple of str
        Functions that Python calls, as ``enter_<name>``.

    Raises
    ------
    CantTranslate
        If the kernels use a form that the rewriting does not know.
    """
    functions: dict[str, ast.FunctionDef] = {}
    constants: dict[str, ast.stmt] = {}
    for module in modules:
        for statement in ast.parse(inspect.getsource(module)).body:
            if isinstance(statement, ast.FunctionDef):
                functions[statement.name] = statement
            elif isinstance(statement, ast.Assign | ast.AnnAssign):
                _add_constant(constants, statement)
    own = {
        statement.name: statement
        for statement in ast.parse(inspect.getsource(journal)).body
        if isinstance(statement, ast.FunctionDef)
    }
    parts = ["import math", *(text for text in constants if "list[" not in text and "'" not in text)]
    parts += [_made(name, function, function.body) for name, function in own.items()]
    known = set(functions) | set(own)
    done: set[str] = set()

    def add(name: str) -> None:
        if name in done or name not in functions:
            return
        done.add(name)
        function = functions[name]
        for callee in sorted(_calls(function, set(functions)) - {name}):
            add(callee)
        rewriter = _Rewriter(function, known)
        body: list[ast.stmt] = []
        for statement in function.body:
            new = rewriter.visit(statement)
            body.extend(new if isinstance(new, list) else [new])
        parts.append(_made(name, function, body))

    for name in list(functions):
        add(name)
    parts += [_door(name, (functions | own)[name]) for name in entries]
    return "\n\n".join(parts) + "\n"


def _add_constant(constants: dict[str, ast.stmt], statement: ast.Assign | ast.AnnAssign) -> None:
    """Note a module's constant; in one module of all kernels a name can stand for one thing only."""
    text, names = ast.unparse(statement), _stored(statement)
    for other, known in constants.items():
        if other != text and names & _stored(known):
            raise CantTranslate(f"two kernels mean different things by {', '.join(names & _stored(known))}")
    constants[text] = statement


def _stored(statement: ast.stmt) -> set[str]:
    return {n.id for n in ast.walk(statement) if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Store)}


def _made(name: str, function: ast.FunctionDef, body: list[ast.stmt]) -> str:
    """Source of a function on pools."""
    rest = [a.arg for a in function.args.args if a.arg not in ("P", "S", "N", "R")]
    if ast.get_docstring(function) is not None:
        body = body[1:] or [ast.Pass()]
    arguments = ast.arguments([], [ast.arg(a) for a in ("N", "R", *rest)], None, [], [], None, [])
    made = ast.FunctionDef(name, arguments, body, [], None)
    result, kinds = _signature(function)
    signature = f"{result}({', '.join([WHOLE_POOL, REAL_POOL, *kinds])})"
    return f"@kernel({signature!r})\n" + ast.unparse(ast.fix_missing_locations(made))


def _door(name: str, function: ast.FunctionDef) -> str:
    """Source of the function that Python calls, with the pools as arrays."""
    rest = [a.arg for a in function.args.args if a.arg not in ("P", "S", "N", "R")]
    result, kinds = _signature(function)
    signature = f"{result}({', '.join(['int32[::1]', 'float64[::1]', *kinds])})"
    arguments = ", ".join(["N", "R", *rest])
    inner = ", ".join(["whole_at(N)", "real_at(R)", *rest])
    return f"@kernel({signature!r})\ndef enter_{name}({arguments}):\n    return {name}({inner})"
