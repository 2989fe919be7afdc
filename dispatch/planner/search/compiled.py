"""The decorator that compiles the functions of this package."""

from pathlib import Path

from rotas.compiling import Compiler

compiled = Compiler(Path(__file__).resolve().parent)
