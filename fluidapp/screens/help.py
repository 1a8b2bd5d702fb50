"""Help: how sure is this, and what do the words mean?"""

from pathlib import Path

import streamlit as st

from fluidapp.screens import _parts

GUIDE = Path(__file__).parent.parent / "guide"

_parts.head("Help", "How sure is this, and what do the words mean?")
pages = {path.read_text(encoding="utf-8").splitlines()[0].removeprefix("# "): path for path in sorted(GUIDE.glob("*.md"))}
chosen = st.selectbox("Page", list(pages), key="help_page", persist_state="page")
st.markdown("\n".join(pages[chosen].read_text(encoding="utf-8").splitlines()[1:]))
