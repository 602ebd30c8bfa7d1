"""What the parser says of text that isn't YAML -> where to mend it, in plain words."""

from __future__ import annotations

from ruamel.yaml.error import MarkedYAMLError

from trainer.errors import FileProblem


def syntax_problem(error: MarkedYAMLError, path: str) -> FileProblem:
    r"""Return a mistake of YAML at the place that has to be mended, in words that help.

    The parser stops where it can't go on; an open bracket or quote stands above that.

    Example:
        >>> from ruamel.yaml import YAML
        >>> try:
        ...     YAML(typ="safe", pure=True).compose("a: 1\nb: [1, 2\nc: 3\n")
        ... except MarkedYAMLError as error:
        ...     problem = syntax_problem(error, "ship.yaml")
        >>> problem.line, problem.found
        (2, "the '[' here isn't closed, or a comma is missing, before line 3")
    """
    context, what = str(error.context or ""), str(error.problem or error.context or "").strip()
    stopped, begun = error.problem_mark, error.context_mark
    mark, accepted = stopped or begun, "YAML 1.2"
    if "flow node" in context:
        what = "no value where one has to stand, after a '[', '{' or ','"
        accepted = "YAML 1.2: a value, or the closing bracket"
    elif begun and "flow" in context:
        opened, closing = ("[", "]") if "sequence" in context else ("{", "}")
        before = f"line {stopped.line + 1}" if stopped else "the end"
        mark = begun
        what = f"the '{opened}' here isn't closed, or a comma is missing, before {before}"
        accepted = f"',' between entries and a '{closing}' after the last"
    elif begun and "simple key" in context:
        mark, what, accepted = begun, "a line without ':'", "key: value"
    elif begun and "quoted scalar" in context and "end of stream" in what:
        mark, what, accepted = begun, "the quote here isn't closed", "a quote after the text too"
    elif "values are not allowed" in what:
        what = "a ':' where none can stand"
        accepted = "text with ': ' in quotes; keys of one mapping in the same column"
    elif "<block end>" in what:
        what, accepted = "indented otherwise than above", "keys of one mapping in the same column"
    elif "cannot start any token" in what:
        accepted = "spaces" if "'\\t'" in what else "text that begins so in quotes"
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    return FileProblem(path, line, column, what or "not YAML", accepted)
