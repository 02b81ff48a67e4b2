// Makes icon.png, which extensions need, of icon.svg.

import { readFileSync, writeFileSync } from "node:fs";
import { Resvg } from "@resvg/resvg-js";

const here = import.meta.dirname;
writeFileSync(`${here}/icon.png`, new Resvg(readFileSync(`${here}/icon.svg`)).render().asPng());
