"""Every small wrong change of a module: one expression of its syntax tree, written back in place.

A change that compiles to the same code is no mutant. Nor is ``strict=True`` of ``zip`` made False: it asserts
that two lists are equally long, and where they are, the program is the same one.
"""

from __future__ import annotations

import ast
from dataclasses import dataclass
from types import CodeType

__all__ = ["Mutant", "mutants_of"]

COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
}
"""Boundary moved, and sense turned round."""

ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.FloorDiv,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}


@dataclass(frozen=True)
class Mutant:
    """One changed line: its file, its number from 1, the kind of change, the line before and after."""

    path: str
    line: int
    kind: str
    before: str
    after: str

    @property
    def id(self) -> str:
        """The same for the same change of the same source."""
        return f"{self.path}:{self.line}:{self.before.strip()} -> {self.after.strip()}"

    def applied(self, source: str) -> str | None:
        """The module with the change in it, or None where it compiles to the same code, or to none at all."""
        lines = source.splitlines(keepends=True)
        lines[self.line - 1] = self.after + "\n"
        whole = "".join(lines)
        try:
            return None if _compiled(whole) == _compiled(source) else whole
        except SyntaxError:
            return None


def _compiled(source: str) -> tuple[object, ...]:
    """What a module compiles to, without the places of its text."""
    return _parts(compile(source, "", "exec", dont_inherit=True))


def _parts(code: CodeType) -> tuple[object, ...]:
    # A constant is told by its type as well: True equals 1, and 1.0 does.
    constants = tuple(_parts(one) if isinstance(one, CodeType) else (type(one), repr(one)) for one in code.co_consts)
    names = code.co_names, code.co_varnames, code.co_freevars, code.co_cellvars, code.co_name, code.co_flags
    return code.co_code, code.co_exceptiontable, constants, names


def mutants_of(path: str, source: str) -> list[Mutant]:
    """All mutants of a module, in the order of its lines; docstrings, annotations and imports stay as they are."""
    lines = source.splitlines(keepends=True)
    found = {}
    for node in _expressions(ast.parse(source)):
        if node.lineno != node.end_lineno:
            continue
        number = node.lineno - 1
        for kind, new in _changes(node):
            raw = lines[number].encode()  # columns of a syntax tree are bytes
            changed = raw[: node.col_offset] + new.encode() + raw[node.end_col_offset :]
            after = changed.decode()
            mutant = Mutant(path, node.lineno, kind, lines[number].rstrip("\n"), after.rstrip("\n"))
            found[mutant.id] = mutant
    return sorted(found.values(), key=lambda mutant: (mutant.line, mutant.after))


def _expressions(tree: ast.Module) -> list[ast.expr]:
    """Expressions that may be changed, inside f-strings none: their columns are not to be trusted."""
    found: list[ast.expr] = []

    def walk(node: ast.AST) -> None:
        if isinstance(node, ast.JoinedStr | ast.Import | ast.ImportFrom):
            return
        if isinstance(node, ast.Assign) and [getattr(target, "id", "") for target in node.targets] == ["__all__"]:
            return
        if isinstance(node, ast.expr):
            found.append(node)
        if isinstance(node, ast.keyword) and node.arg == "strict":
            return
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns", "decorator_list", "type_params", "bases"):
                continue
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST):
                    walk(child)

    walk(tree)
    return found


def _changes(node: ast.expr) -> list[tuple[str, str]]:
    """Kinds of change and the new text of one expression; in brackets, so that it binds as the old one did."""

    def text(changed: ast.expr) -> str:
        return f"({ast.unparse(changed)})"

    match node:
        case ast.Compare(left=left, ops=[op], comparators=[right]):
            return [("comparison", text(ast.Compare(left, [new()], [right]))) for new in COMPARISONS.get(type(op), ())]
        case ast.Compare(left=left, ops=[first, second], comparators=rights):
            return [
                ("comparison", text(ast.Compare(left, [new(), second], rights)))
                for new in COMPARISONS.get(type(first), ())[:1]
            ] + [
                ("comparison", text(ast.Compare(left, [first, new()], rights)))
                for new in COMPARISONS.get(type(second), ())[:1]
            ]
        case ast.BoolOp(op=op, values=values):
            return [("and/or", text(ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)))]
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            return [("not removed", text(operand))]
        case ast.UnaryOp(op=ast.USub(), operand=operand) if not isinstance(operand, ast.Constant):
            return [("sign removed", text(operand))]
        case ast.BinOp(left=left, op=op, right=right) if type(op) in ARITHMETIC:
            if any(isinstance(side, ast.Constant) and isinstance(side.value, str) for side in (left, right)):
                return []
            return [("arithmetic", text(ast.BinOp(left, ARITHMETIC[type(op)](), right)))]
        case ast.IfExp(test=test, body=body, orelse=orelse):
            return [("branches swapped", text(ast.IfExp(test, orelse, body)))]
        case ast.Constant(value=bool(value)):
            return [("constant", str(not value))]
        case ast.Constant(value=int(value)):
            return [("constant", str(value + 1)), ("constant", f"({value - 1})")]
        case ast.Constant(value=float(value)):
            return [("constant", repr(value * 1.25 + (value == 0.0)))]
        case ast.Call(func=ast.Name(id=("min" | "max") as name), args=args, keywords=keywords):
            other = "max" if name == "min" else "min"
            return [("min/max", text(ast.Call(ast.Name(other), args, keywords)))]
        case ast.Call(func=ast.Name(id=("any" | "all") as name), args=args, keywords=[]):
            return [("any/all", text(ast.Call(ast.Name("all" if name == "any" else "any"), args, [])))]
        case _:
            return []
