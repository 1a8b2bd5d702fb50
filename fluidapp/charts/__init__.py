"""Results to altair charts; they read no records."""

from altair.utils import schemapi

INK = "#060E14"  # of words in a picture on a light page
schemapi.disable_debug_mode()  # each mark checked against the whole schema takes as long as drawing it; the tests of charts switch it on
