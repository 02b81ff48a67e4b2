"""Imports every schema there is: those of xmlschema's own tests and those of the outside references.

Whatever comes out must be a dialect that Trunnion reads, and a document that two independent validators call valid
must give no finding. Arguments: the unpacked source of xmlschema, the folder of outside references, the folder of robots
out of packages (each may be missing). Prints how many schemas and documents there were; ends with 1 if one of them failed.
"""

import json
import os
import pathlib
import subprocess
import sys
import tempfile
import warnings

import lxml.etree
import xmlschema

TRUNNION = os.environ["TRUNNION_BIN"]
# That a validator does not load what lies on the network is as it should be.
warnings.simplefilter("ignore", xmlschema.XMLSchemaImportWarning)


def run(*arguments):
    return subprocess.run([TRUNNION, *map(str, arguments)], capture_output=True, text=True, timeout=60)


def findings(path):
    return json.loads(run("check", "--format", "json", path).stdout)


class Judges:
    """The independent validators that can use a schema. Some schemas are wrong on purpose: any error will do."""

    def __init__(self, schema):
        self.validators = []
        try:
            by_lxml = lxml.etree.XMLSchema(lxml.etree.parse(str(schema)))
            self.validators.append(by_lxml.validate)
        except Exception:
            pass
        try:
            by_xmlschema = xmlschema.XMLSchema10(str(schema), allow="local")
            self.validators.append(by_xmlschema.is_valid)
        except Exception:
            pass

    def agree(self, document):
        """Whether all of them, and at least one, call a document valid."""
        try:
            return bool(self.validators) and all(is_valid(document) for is_valid in self.validators)
        except Exception:
            return False


class Tally:
    def __init__(self):
        self.imported = self.refused = self.documents = 0
        self.failures = []

    def schema(self, schema, documents, prepare=lambda root: None):
        """Imports one schema and tries the documents on it. `prepare` mends what all of them have wrong."""
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            dialect = folder / "its.dialect.toml"
            done = run("dialect", "import", schema, "--out", dialect, "--within", schema.parent.parent)
            if done.returncode == 2 and done.stderr.startswith("trunnion: "):
                self.refused += 1
                return
            if done.returncode != 0:
                self.failures.append(f"{schema}: exit code {done.returncode}: {done.stderr[-500:]}")
                return
            self.imported += 1
            wrong = findings(dialect)
            if wrong:
                self.failures.append(f"{schema}: its dialect: {wrong[:3]}")
                return
            (folder / "trunnion.toml").write_text('dialects = ["its.dialect.toml"]\n')
            lines = dialect.read_text().splitlines()
            roots = {line.split('"')[1] for line in lines if line.startswith("root = ")}
            judges = None
            for document in documents:
                try:
                    tree = lxml.etree.parse(str(document))
                except Exception:
                    continue
                if lxml.etree.QName(tree.getroot()).localname not in roots:
                    continue
                prepare(tree.getroot())
                judges = judges or Judges(schema)
                if judges.agree(tree):
                    self.document(schema, document, tree, folder)

    def document(self, schema, document, tree, folder):
        self.documents += 1
        copy = folder / document.with_suffix(".xml").name
        tree.write(str(copy), encoding="UTF-8", xml_declaration=True)
        found = findings(copy)
        if found:
            texts = "; ".join(f"{one.get('code')}: {one.get('message')}" for one in found[:4])
            self.failures.append(f"{document} with the dialect of {schema}: {texts}")


def main():
    source, references, robots = (pathlib.Path(argument) for argument in sys.argv[1:4])
    tally = Tally()
    if source.is_dir():
        for schema in sorted(source.rglob("*.xsd")):
            tally.schema(schema, sorted(schema.parent.rglob("*.xml")))
    else:
        print(f"SKIPPED: the schemas of xmlschema, {source} is not there")
    for name, schema, folder, documents, *prepare in (
        # They are of version 4.0, but few use what came with it.
        ("X3D", "x3d-spec/x3d-3.3.xsd", references, "x3d-examples/*.x3d", lambda root: root.set("version", "3.3")),
        ("COLLADA", "collada/collada/resources/schema-1.4.1.xml", references, "collada/**/*.dae"),
        ("URDF", "urdf/xsd/urdf.xsd", robots, "**/*.urdf"),
    ):
        if (references / schema).is_file():
            before = tally.documents
            tally.schema(references / schema, sorted(folder.glob(documents))[:300], *prepare)
            print(f"{name}: {tally.documents - before} valid documents tried")
        else:
            print(f"SKIPPED: the schema of {name}, {references / schema} is not there")
    print(f"{tally.imported} schemas imported, {tally.refused} refused with a reason, "
          f"{tally.documents} valid documents tried, {len(tally.failures)} failures")
    for failure in tally.failures:
        print("FAILED:", failure)
    return 1 if tally.failures else 0


if __name__ == "__main__":
    sys.exit(main())
