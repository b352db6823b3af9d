"""The deposit, read by libraries made for its formats.

Data Package and Table Schema: frictionless; the record for repositories: the JSON schema of DataCite
4.5 that comes with PyPI `datacite`; the citation file: keys that "Guide to Citation File Format schema
version 1.2.0" asks for, read as YAML; columns and hashes: pyarrow and hashlib.
"""

import hashlib
import json
import subprocess

import frictionless
import pyarrow.parquet
import pytest
import yaml
from datacite import schema45

PARQUET_TYPES = {"utf8": "string", "float32": "float", "boolean": "bool",
                 "dictionary": "dictionary<values=string, indices=int32, ordered=0>"}


@pytest.fixture(scope="module")
def deposit(hobble, scan, tmp_path_factory):
    """A deposit of the season's tables."""
    out = tmp_path_factory.mktemp("deposit") / "out"
    command = [hobble, "deposit", "--data", scan["data"], "--out", str(out), "--title", "Held: a \"test\" # of titles"]
    command += ["--creator", "Windlass, Orla", "--creator", "Club of Tarn", "--publisher", "Club of Tarn"]
    subprocess.run([*command, "--licence", "CC0-1.0"], check=True, capture_output=True)
    return out


def problems(package):
    """What frictionless finds wrong with a description."""
    try:
        package = frictionless.Package.from_descriptor(package)
        resources = package.resources
        for resource in resources:
            if isinstance(resource.schema, str):
                frictionless.Schema.from_descriptor(resource.schema)
        return []
    except frictionless.FrictionlessException as error:
        return [str(error.error.note), *(str(reason.note) for reason in error.reasons)]


def test_data_package_is_valid(deposit, monkeypatch):
    monkeypatch.chdir(deposit)
    assert problems("datapackage.json") == []
    for schema in (deposit / "schemas").glob("*.json"):
        assert frictionless.Schema.from_descriptor(str(schema)).fields
    # The check finds what is wrong.
    broken = json.loads((deposit / "datapackage.json").read_text())
    broken["resources"][0]["path"] = "../elsewhere.parquet"
    assert problems(broken)


def test_files_are_as_described(deposit):
    package = json.loads((deposit / "datapackage.json").read_text())
    described = {resource["path"]: resource for resource in package["resources"]}
    tables = {str(path.relative_to(deposit)) for path in deposit.glob("*/**/*.parquet")}
    assert tables == {path for path in described if path.endswith(".parquet")}
    assert len({resource["name"] for resource in described.values()}) == len(described)
    for path, resource in described.items():
        content = (deposit / path).read_bytes()
        assert resource["bytes"] == len(content)
        assert resource["hash"] == "sha256:" + hashlib.sha256(content).hexdigest()
        if not path.endswith(".parquet"):
            continue
        fields = json.loads((deposit / resource["schema"]).read_text())["fields"]
        file = pyarrow.parquet.ParquetFile(deposit / path)
        assert file.metadata.num_rows == resource["rows"]
        columns = [(column.name, str(column.type)) for column in file.schema_arrow]
        assert columns == [
            (field["name"], PARQUET_TYPES.get(field["parquet_type"], field["parquet_type"])) for field in fields
        ]
        assert all(field["description"] for field in fields)
        nullable = {column.name for column in file.schema_arrow if column.nullable}
        assert nullable == {field["name"] for field in fields if "null_means" in field}


def test_record_for_repositories_follows_datacite(deposit):
    record = json.loads((deposit / "datacite.json").read_text())
    assert schema45.validate(record)
    people = [(creator["name"], creator["nameType"]) for creator in record["creators"]]
    assert people == [("Windlass, Orla", "Personal"), ("Club of Tarn", "Organizational")]
    del record["titles"]
    assert not schema45.validate(record)


def test_citation_file_has_the_keys_that_its_guide_asks_for(deposit):
    citation = yaml.safe_load((deposit / "CITATION.cff").read_text())
    assert citation["cff-version"] == "1.2.0" and citation["type"] == "dataset" and citation["message"]
    assert citation["title"] == 'Held: a "test" # of titles'
    assert citation["authors"] == [{"family-names": "Windlass", "given-names": "Orla"}, {"name": "Club of Tarn"}]
