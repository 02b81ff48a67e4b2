"""Lets independent validators judge the schemas that Trunnion writes for a dialect.

Both schemas must compile (XML Schema in lxml and in xmlschema, RELAX NG in lxml), documents that are right must be
valid, and of the documents with an injected fault that Trunnion reports, enough must be rejected. A schema cannot look
into scenes and folders, so such faults do not count. A schema that accepts all documents must also accept a fault of
which they show the like, such as an attribute that is missing in one of them: the share is told with and without those.
Prints the shares.
"""

import collections
import json
import os
import pathlib
import random
import re
import subprocess

import lxml.etree
import xmlschema

TRUNNION = os.environ["TRUNNION_BIN"]
FAULTS = 40  # of each sort, at most


def run(*arguments):
    done = subprocess.run([TRUNNION, *map(str, arguments)], capture_output=True, text=True, timeout=600)
    if done.returncode == 101 or done.returncode < 0:
        raise SystemExit(f"{arguments} crashed: {done.stderr}")
    return done


class Schemas:
    """The schemas of a dialect, in every validator there is."""

    def __init__(self, dialect, folder):
        self.validators = {}
        for language in ("xsd", "rng"):
            out = folder / language
            out.mkdir()
            done = run("dialect", "export", dialect, f"--{language}", "--out", out)
            if done.returncode:
                raise SystemExit(f"{dialect} could not be exported: {done.stderr}")
            files = sorted(out.iterdir())
            if language == "rng":
                made = [lxml.etree.RelaxNG(lxml.etree.parse(str(file))).validate for file in files]
                self.validators["RELAX NG in lxml"] = made
            else:
                made = [lxml.etree.XMLSchema(lxml.etree.parse(str(file))).validate for file in files]
                self.validators["XML Schema in lxml"] = made
                made = [xmlschema.XMLSchema10(str(file)).is_valid for file in files]
                self.validators["XML Schema in xmlschema"] = made

    def accept(self, tree):
        """By validator: whether one of the dialect's schemas takes the document."""
        taken = {}
        for name, schemas in self.validators.items():
            taken[name] = any(validate(tree) for validate in schemas)
        return taken


def elements(root):
    return [element for element in root.iter() if isinstance(element.tag, str)]


def misspelt_element(chance, root):
    element = chance.choice(elements(root)[1:])
    element.tag += "x"


def unknown_element(chance, root):
    element = chance.choice(elements(root))
    namespace = lxml.etree.QName(root).namespace
    tag = "nobody-knows-this"
    lxml.etree.SubElement(element, f"{{{namespace}}}{tag}" if namespace else tag)


def unknown_attribute(chance, root):
    chance.choice(elements(root)).set("nobody-knows-this", "1")


def misspelt_attribute(chance, root):
    element = chance.choice([element for element in elements(root) if element.attrib])
    name = chance.choice(list(element.attrib))
    element.set(name + "x", element.attrib.pop(name))


def missing_attribute(chance, root):
    element = chance.choice([element for element in elements(root) if element.attrib])
    del element.attrib[chance.choice(list(element.attrib))]


def missing_element(chance, root):
    element = chance.choice(elements(root)[1:])
    element.getparent().remove(element)


def second_element(chance, root):
    element = chance.choice(elements(root)[1:])
    copy = lxml.etree.fromstring(lxml.etree.tostring(element, with_tail=False))
    element.addnext(copy)


def other_order(chance, root):
    element = chance.choice([element for element in elements(root) if len(element) > 1])
    element.append(element[0])


def wrong_value(chance, root):
    values = [(element, name) for element in elements(root) for name in element.attrib]
    values += [(element, None) for element in elements(root) if len(element) == 0 and element.text]
    element, name = chance.choice(values)
    if name is None:
        element.text = "x:y:z!"
    else:
        element.set(name, "x:y:z!")


def text_between(chance, root):
    element = chance.choice([element for element in elements(root) if len(element)])
    element.text = "stray words"


SORTS = [misspelt_element, unknown_element, unknown_attribute, misspelt_attribute, missing_attribute, missing_element,
         second_element, other_order, wrong_value, text_between]
# Codes of what a schema could know: not what lies in scenes, folders and the meaning of things.
GRAMMAR = {"unknown-element", "unknown-attribute", "missing-child", "missing-attribute", "missing-text", "too-many",
           "wrong-order", "wrong-type", "out-of-range", "unknown-word", "unexpected-text"}
NAMES = {"duplicate-name", "unknown-name"}
KNOWN_TO = {"RELAX NG in lxml": GRAMMAR, "XML Schema in lxml": GRAMMAR | NAMES, "XML Schema in xmlschema": GRAMMAR | NAMES}


def faulty(documents, seed):
    """Copies with one fault each, beside the originals: (sort, original, copy)."""
    chance = random.Random(seed)
    made = []
    for sort in SORTS:
        for number in range(FAULTS):
            original = chance.choice(documents)
            tree = lxml.etree.parse(str(original))
            try:
                sort(chance, tree.getroot())
            except IndexError:
                continue
            ending = "".join(original.suffixes[-2:])
            copy = original.with_name(f"fault-{sort.__name__}-{number}{ending}")
            tree.write(str(copy), encoding="UTF-8", xml_declaration=True)
            made.append((sort.__name__, original, copy))
    return made


def findings(paths):
    """By path: what Trunnion finds in it, as pairs of code and message with how often."""
    found = {path.resolve(): collections.Counter() for path in paths}
    report = json.loads(run("check", "--format", "json", *paths).stdout)
    for one in report:
        message = one["message"]
        if one["code"] in NAMES:
            # Which name it is makes no difference to a schema.
            message = re.sub(" Did you mean [^?]*[?]", "", re.sub("`[^`]*`", "``", message))
        found.setdefault(pathlib.Path(one["file"]).resolve(), collections.Counter())[one["code"], message] += 1
    return found


def shares(sorts):
    """The share of faults that are rejected, how many there are, and both in words, with the sorts that get through."""
    faults = [one for several in sorts.values() for one in several]
    share = sum(faults) / len(faults) if faults else 0.0
    missed = ", ".join(f"{sort} {sum(one)}/{len(one)}" for sort, one in sorts.items() if not all(one))
    told = f"{sum(faults)} of {len(faults)} faults ({share:.3f})"
    return share, len(faults), f"{told}; not all of {missed}" if missed else told


def judge(name, dialect, documents, folder, least, faults_from=None, least_of_unlike=0.0):
    """Tries the schemas of a dialect. `least`: the share of faults that must be rejected, `least_of_unlike`: of those of
    which no document shows the like. Gives back what is wrong."""
    schemas = Schemas(dialect, folder)
    failures = []
    taken = {}
    for document in documents:
        for validator, is_valid in schemas.accept(lxml.etree.parse(str(document))).items():
            taken.setdefault(validator, []).append((is_valid, document))
    made = faulty(faults_from or documents, name)
    before = findings(documents)
    like = {finding for found in before.values() for finding in found}
    after = findings([copy for _, _, copy in made])
    rejected, unlike = {}, {}
    for sort, original, copy in made:
        # What Trunnion does not report is no fault: what was taken away may have been optional.
        found = set(after[copy.resolve()] - before[original.resolve()])
        for validator, is_valid in schemas.accept(lxml.etree.parse(str(copy))).items():
            known = {finding for finding in found if finding[0] in KNOWN_TO[validator]}
            if known:
                rejected.setdefault(validator, {}).setdefault(sort, []).append(not is_valid)
            if known - like:
                unlike.setdefault(validator, {}).setdefault(sort, []).append(not is_valid)
    for validator in schemas.validators:
        good = taken[validator]
        right = sum(is_valid for is_valid, _ in good)
        share, count, told = shares(rejected.get(validator, {}))
        share_of_unlike, _, told_of_unlike = shares(unlike.get(validator, {}))
        print(f"{name}, {validator}: accepts {right} of {len(good)} documents, rejects {told}", flush=True)
        print(f"    of which no document shows the like: {told_of_unlike}", flush=True)
        failures += [f"{name}, {validator}: {document} is not accepted" for is_valid, document in good if not is_valid]
        if count < 100 or share < least or share_of_unlike < least_of_unlike:
            failures.append(f"{name}, {validator}: too few faults are rejected")
    return failures
