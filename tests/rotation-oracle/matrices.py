"""The matrices that scipy makes of three angles.

Takes a JSON list of [order, [x, y, z]] on standard input: degrees about x, y and z, applied in the order of the
three letters, each about the axes as turned so far. Writes the list of the matrices, row by row.
"""

import json
import sys

from scipy.spatial.transform import Rotation

matrices = []
for order, degrees in json.load(sys.stdin):
    # scipy takes the angles in the order of the letters; capital letters are axes that turn along.
    turns = [degrees["XYZ".index(letter)] for letter in order]
    matrices.append(Rotation.from_euler(order, turns, degrees=True).as_matrix().tolist())
json.dump(matrices, sys.stdout)
