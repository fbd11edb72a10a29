"""Reads drawings with ezdxf, an independent reader, audits them and prints what it found as JSON, a line for each file."""
import json
import sys
from collections import Counter

import ezdxf
from ezdxf import recover

for path in sys.argv[1:]:
    doc = ezdxf.readfile(path)
    auditor = doc.audit()
    _, recovered = recover.readfile(path)
    space = doc.modelspace()
    lo, hi = doc.header.get("$EXTMIN"), doc.header.get("$EXTMAX")
    texts = [e for e in space if e.dxftype() == "TEXT"]
    print(json.dumps({
        "version": doc.dxfversion,
        "errors": [str(e.message) for e in auditor.errors] + [str(e.message) for e in recovered.errors],
        "fixes": [str(e.message) for e in auditor.fixes] + [str(e.message) for e in recovered.fixes],
        "layers": sorted(layer.dxf.name for layer in doc.layers),
        "blocks": sorted(b.name for b in doc.blocks if not b.name.startswith("*") and not b.name.startswith("$")),
        "kinds": dict(Counter(e.dxftype() for e in space)),
        "on": dict(Counter(e.dxf.layer for e in space)),
        "texts": [e.plain_text() for e in texts],
        "heights": sorted({round(e.dxf.height, 4) for e in texts}),
        "extents": [lo[0], lo[1], hi[0], hi[1]],
    }))
