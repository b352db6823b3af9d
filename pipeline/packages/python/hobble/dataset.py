"""Tables of a scan, and answers to questions about them."""

from __future__ import annotations

import csv
import io
import json
import re
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Dict, List, Optional, Sequence

from .program import PathLike, run

if TYPE_CHECKING:
    import duckdb
    import pandas
    import polars
    import pyarrow


def _options(options: Dict[str, Any]) -> List[str]:
    """`top_level=True` as `--top-level`, `sample=4` as `--sample 4`; a list gives an option more than
    once; None and False leave it out."""
    words: List[str] = []
    for name, value in options.items():
        option = "--" + name.replace("_", "-")
        for one in value if isinstance(value, (list, tuple)) else [value]:
            if one is True:
                words.append(option)
            elif one is not None and one is not False:
                words += [option, str(one)]
    return words


def scan(*archives: PathLike, out: PathLike, **options: Any) -> Dataset:
    """Reads archives of games and writes tables into the folder `out`; returns them opened.

    A scan that was interrupted goes on where it was when it is called again. Further options are those
    of `hobble scan`, with underscores: ``scan("a.pgn", out="data", sample=4, repeats="keep")``. What the
    program said of the scan (games read, kept, skipped and why) is `Dataset.account`.

    Raises HobbleError where an archive or the folder cannot be read or written.
    """
    said = run(["scan", *archives, "--out", out, *_options(options)])
    return Dataset(out, account=said)


def open(folder: PathLike) -> Dataset:  # noqa: A001 - `hobble.open` reads as it should
    """The tables of a scan that was made before.

    Raises FileNotFoundError where the folder has no manifest of a scan.
    """
    return Dataset(folder)


def ask(question: PathLike, data: PathLike, **options: Any) -> Answer:
    """An answer from the tables in the folder `data`, as :meth:`Dataset.ask`."""
    return Dataset(data).ask(question, **options)


class Dataset:
    """The tables of a scan.

    Each table is Parquet, a folder of files a source; `source` is a column of every table.
    """

    def __init__(self, folder: PathLike, account: Optional[str] = None) -> None:
        self.folder = Path(folder)
        #: What the scan said, where it was made by :func:`scan`.
        self.account = account
        if not (self.folder / "manifest.json").is_file():
            raise FileNotFoundError(f"{self.folder} has no manifest.json: it is not a folder of tables")

    def __repr__(self) -> str:
        return f"hobble.open({str(self.folder)!r})"

    @cached_property
    def manifest(self) -> Dict[str, Any]:
        """The manifest: sources, parameters of the scan, version of the definitions."""
        manifest: Dict[str, Any] = json.loads(
            (self.folder / "manifest.json").read_text(encoding="utf-8")
        )
        return manifest

    @property
    def tables(self) -> List[str]:
        """Names of the tables that are there, in alphabetical order."""
        return sorted(
            path.name for path in self.folder.iterdir() if path.is_dir() and any(path.rglob("*.parquet"))
        )

    def files(self, table: str) -> List[Path]:
        """The Parquet files of a table.

        Raises KeyError where there is no such table.
        """
        files = sorted((self.folder / table).rglob("*.parquet"))
        if not files:
            raise KeyError(f"no table {table!r} in {self.folder}; there are {', '.join(self.tables)}")
        return files

    def derived(self, table: str) -> Dict[str, str]:
        """The columns of a table that follow from others and are not in its files, each as SQL over `row` and
        `games`. :meth:`polars` and :meth:`duckdb` have them, and :meth:`arrow` and :meth:`pandas` where
        DuckDB is installed."""
        schema = json.loads(run(["schema", table]))
        return {column["name"]: column["is"] for column in schema.get("derived", [])}

    def arrow(self, table: str, columns: Optional[Sequence[str]] = None) -> pyarrow.Table:
        """A table as Arrow, all of it or some columns. Columns that follow from others come if they are named."""
        import pyarrow
        import pyarrow.dataset

        self.files(table)
        derived = self.derived(table)
        if columns is not None and any(column in derived for column in columns):
            rows = self.duckdb().sql(f"select {', '.join(columns)} from {table}").to_arrow_table()
            # Words are categories, as in the files.
            for place, field in enumerate(rows.schema):
                if pyarrow.types.is_string(field.type):
                    rows = rows.set_column(place, field.name, rows.column(place).dictionary_encode())
            return rows
        parts = pyarrow.dataset.dataset(self.folder / table, format="parquet", partitioning="hive")
        return parts.to_table(columns=None if columns is None else list(columns))

    def polars(self, table: str) -> polars.LazyFrame:
        """A table as a lazy frame of polars: nothing is read before it is asked for."""
        import polars

        frame = polars.scan_parquet(self.files(table), hive_partitioning=True)
        derived = self.derived(table)
        if not derived:
            return frame
        keys = ["source", "game"]
        named = sorted(set(re.findall(r"\bgames\.(\w+)", " ".join(derived.values()))))
        games = polars.scan_parquet(self.files("games"), hive_partitioning=True).select(
            *keys, *(polars.col(name).alias(f"games_{name}") for name in named)
        )
        formulas = {
            name: polars.sql_expr(is_.replace("row.", "").replace("games.", "games_")).alias(name)
            for name, is_ in derived.items()
        }
        joined = frame.join(games, on=keys, maintain_order="left").with_columns(**formulas)
        return joined.drop(f"games_{name}" for name in named)

    def pandas(self, table: str, columns: Optional[Sequence[str]] = None) -> pandas.DataFrame:
        """A table as a data frame of pandas; words are categories."""
        return self.arrow(table, columns).to_pandas()

    def duckdb(self, connection: Optional[duckdb.DuckDBPyConnection] = None) -> duckdb.DuckDBPyConnection:
        """A connection in which each table is a view under its own name."""
        import duckdb

        connection = duckdb.connect() if connection is None else connection
        for table in self.tables:
            files = str(self.folder / table / "**" / "*.parquet").replace("'", "''")
            connection.execute(
                f"create or replace view {table} as "
                f"select * from read_parquet('{files}', hive_partitioning = true)"
            )
        folder = str(self.folder).replace("'", "''")
        connection.execute(run(["schema", "views"]).replace("read_parquet('", f"read_parquet('{folder}/"))
        return connection

    def ask(self, question: PathLike, **options: Any) -> Answer:
        """An answer to a question: the name of one that comes with the program
        (`hobble questions` lists them), or the path of a question file.

        Further options are those of `hobble ask`, with underscores: ``k=1, within=5``,
        ``player="Windlass, Orla"``.

        Raises HobbleError where the question or the tables are not as they should be.
        """
        return Answer(self, question, options)


class Answer:
    """An answer to a question, in each form that the program writes."""

    def __init__(self, dataset: Dataset, question: PathLike, options: Dict[str, Any]) -> None:
        self._dataset = dataset
        self._question = question
        self._options = _options(options)
        #: The answer as a dict: figures, intervals, examples, remarks.
        self.dict: Dict[str, Any] = json.loads(self._written("json"))

    def _written(self, form: str) -> str:
        return run([*self._asked("ask"), "--format", form])

    def _asked(self, command: str) -> List[PathLike]:
        return [command, self._question, "--data", self._dataset.folder, *self._options]

    @cached_property
    def text(self) -> str:
        """The answer for a terminal."""
        return self._written("text")

    @cached_property
    def csv(self) -> str:
        """The figures as CSV; `hobble codebook` says what each column is."""
        return self._written("csv")

    def table(self) -> List[Dict[str, str]]:
        """The figures of :attr:`csv`, a row a dict of texts; empty where there is no figure."""
        return list(csv.DictReader(io.StringIO(self.csv)))

    def pandas(self) -> pandas.DataFrame:
        """The figures as a data frame of pandas."""
        import pandas

        return pandas.read_csv(io.StringIO(self.csv))

    def polars(self) -> polars.DataFrame:
        """The figures as a data frame of polars."""
        import polars

        return polars.read_csv(io.StringIO(self.csv), infer_schema_length=None)

    def page(self, file: PathLike) -> Path:
        """Writes the answer as one HTML page with plots and boards; returns its path."""
        run([*self._asked("page"), "--out", file])
        return Path(file)
