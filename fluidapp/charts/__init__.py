"""Results to altair charts; they read no records.

Encodings are written by their classes, alt.X("a:Q"): a plain string is looked up in the whole schema each time, about 8 ms.
"""

from altair.utils import schemapi

INK = "#060E14"  # of words in a picture on a light page
schemapi.disable_debug_mode()  # each mark checked against the whole schema takes as long as drawing it; the tests of charts switch it on
