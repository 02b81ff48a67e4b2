"""Applies XML patches (RFC 5261) with other tools: lxml has the trees, elementpath evaluates the paths.

Reads a JSON list of {"old", "new", "patch"} from stdin. Every path must lead to exactly one node, and the patched tree must
equal the new one (exclusive canonical XML, with comments). Prints counts; ends with 1 if a case fails.
"""

import copy
import json
import re
import sys

import elementpath
from elementpath.xpath2 import XPath2Parser
from lxml import etree

TEXT = re.compile(r"(?:^|/)text\(\)(?:\[(\d+)\])?$")
ATTRIBUTE = re.compile(r"/@([\w.:-]+)$")
NAMESPACE = re.compile(r"/namespace::([\w.-]+)$")


class Failed(Exception):
    pass


def content(element):
    """Texts and nodes by turns, as a list; empty texts are left out."""
    items = [element.text] if element.text else []
    for child in element:
        items.append(child)
        if child.tail:
            items.append(child.tail)
    return items


def set_content(element, items):
    for child in list(element):
        element.remove(child)
    element.text = None
    last = None
    for item in items:
        if isinstance(item, str):
            if last is None:
                element.text = (element.text or "") + item
            else:
                last.tail = (last.tail or "") + item
        else:
            item.tail = None
            element.append(item)
            last = item


def brought(operation):
    items = []
    for item in content(operation):
        if not isinstance(item, str):
            item = copy.deepcopy(item)
            item.tail = None
        items.append(item)
    return items


class Patched:
    def __init__(self, text):
        self.tree = etree.fromstring(text.encode()).getroottree()
        self.selected = 0

    def one(self, path, operation):
        """The node that a path leads to; names without a prefix are in the default namespace of the patch."""
        names = {prefix or "": uri for prefix, uri in operation.nsmap.items()}
        found = elementpath.select(self.tree, path, namespaces=names, parser=XPath2Parser)
        if len(found) != 1:
            raise Failed(f"{path} leads to {len(found)} nodes")
        self.selected += 1
        return found[0]

    def apply(self, operation):
        path = operation.get("sel")
        verb = etree.QName(operation).localname
        for pattern, act in ((ATTRIBUTE, self.attribute), (NAMESPACE, self.namespace), (TEXT, self.text)):
            match = pattern.search(path)
            if match:
                if pattern is not NAMESPACE:
                    self.one(path, operation)
                return act(verb, self.one(path[: match.start()], operation), match[1], operation)
        node = self.one(path, operation)
        kind = operation.get("type")
        if kind and kind.startswith("@"):
            node.set(self.qualified(kind[1:], operation), operation.text or "")
        elif kind:
            raise NotImplementedError("namespaces")
        elif verb == "add":
            self.add(node, operation)
        else:
            self.exchange(node, brought(operation) if verb == "replace" else [], operation.get("ws"))

    def qualified(self, name, operation):
        prefix, colon, local = name.partition(":")
        if not colon:
            return name
        names = dict(operation.nsmap, xml="http://www.w3.org/XML/1998/namespace")
        return f"{{{names[prefix]}}}{local}"

    def attribute(self, verb, element, name, operation):
        name = self.qualified(name, operation)
        if verb == "remove":
            del element.attrib[name]
        else:
            element.set(name, operation.text or "")

    def namespace(self, *_):
        raise NotImplementedError("namespaces")

    def text(self, verb, element, place, operation):
        items = content(element)
        texts = [at for at, item in enumerate(items) if isinstance(item, str)]
        at = texts[int(place or 1) - 1]
        items[at : at + 1] = [operation.text or ""] if verb == "replace" else []
        set_content(element, items)

    def add(self, node, operation):
        place, items = operation.get("pos"), brought(operation)
        if place in (None, "prepend"):
            there = content(node)
            set_content(node, items + there if place else there + items)
            return
        parent = node.getparent()
        if parent is None:
            # White space is no node there.
            nodes = [item for item in items if not isinstance(item, str)]
            for item in nodes if place == "before" else reversed(nodes):
                (node.addprevious if place == "before" else node.addnext)(item)
            return
        there = content(parent)
        at = there.index(node) + (place == "after")
        set_content(parent, there[:at] + items + there[at:])

    def exchange(self, node, items, blanks):
        parent = node.getparent()
        if parent is None:
            if node is self.tree.getroot():
                self.exchange_root(node, items)
            elif items:
                node.addnext(items[0])
                remove_beside_root(node)
            else:
                remove_beside_root(node)
            return
        there = content(parent)
        start = there.index(node)
        end = start + 1
        if blanks in ("before", "both"):
            start -= 1
        if blanks in ("after", "both"):
            end += 1
        for text in there[start:end]:
            if isinstance(text, str) and text.strip(" \t\r\n"):
                raise Failed("ws about a text that is not blank")
        set_content(parent, there[:start] + items + there[end:])

    def exchange_root(self, root, items):
        (new,) = [item for item in items if not isinstance(item, str)]
        before, after = list(root.itersiblings(preceding=True)), list(root.itersiblings())
        self.tree = etree.ElementTree(new)
        for node in reversed(before):
            new.addprevious(node)
        for node in reversed(after):
            new.addnext(node)


def remove_beside_root(node):
    # lxml removes such a node by moving it into another tree.
    etree.Element("elsewhere").append(node)


def canonical(tree):
    return etree.tostring(tree, method="c14n", exclusive=True, with_comments=True)


def main():
    cases = json.load(sys.stdin)
    right = operations = selected = left_out = 0
    failures = []
    for number, case in enumerate(cases):
        try:
            patched = Patched(case["old"])
            for operation in etree.fromstring(case["patch"].encode()):
                patched.apply(operation)
                operations += 1
            selected += patched.selected
            new = etree.fromstring(case["new"].encode()).getroottree()
            if canonical(patched.tree) != canonical(new):
                raise Failed("another tree")
            right += 1
        except NotImplementedError:
            left_out += 1
        except Exception as error:
            failures.append((number, error))
    print(f"{len(cases)} patches: {right} right, {left_out} left out (namespace declarations), "
          f"{operations} operations, {selected} paths that lead to one node each")
    for number, error in failures[:5]:
        case = cases[number]
        print(f"FAILED {number}: {error!r}\n{case['old']}\n---\n{case['new']}\n---\n{case['patch']}")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
