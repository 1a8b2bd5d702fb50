"""The router, nothing else."""

from pathlib import Path

import streamlit as st

from fluidapp.errors import FluidappError

st.set_page_config(page_title="fluidapp", page_icon=str(Path(__file__).parent / "static" / "icon.svg"), layout="centered")
page = st.navigation(
    {
        "": [st.Page("screens/start.py", title="Start", default=True)],
        "Mechanic": [
            st.Page("screens/level.py", title="Level check", url_path="level-check"),
            st.Page("screens/balance.py", title="Oil balance", url_path="oil-balance"),
            st.Page("screens/gearcase.py", title="Gear case", url_path="gear-case"),
            st.Page("screens/bath.py", title="Grease bath", url_path="grease-bath"),
            st.Page("screens/topup.py", title="Top-up", url_path="top-up"),
            st.Page("screens/refill.py", title="Refill", url_path="refill"),
            st.Page("screens/greasing.py", title="Greasing", url_path="greasing"),
            st.Page("screens/watch.py", title="Level watch", url_path="level-watch"),
        ],
        "Lube truck": [st.Page("screens/service.py", title="Service", url_path="service")],
        "Supervisor": [
            st.Page("screens/due.py", title="Due list", url_path="due-list"),
            st.Page("screens/consumption.py", title="Consumption", url_path="consumption"),
            st.Page("screens/stock.py", title="Stock", url_path="stock"),
        ],
        "Setting up": [
            st.Page("screens/machines.py", title="Machines", url_path="machines"),
            st.Page("screens/calibration.py", title="Calibration", url_path="calibration"),
            st.Page("screens/products.py", title="Products", url_path="products"),
            st.Page("screens/inout.py", title="Records in and out", url_path="in-and-out"),
        ],
        "All": [
            st.Page("screens/records.py", title="Records", url_path="records"),
            st.Page("screens/help.py", title="Help", url_path="help"),
        ],
    },
    position="top",
)
try:
    page.run()
except FluidappError as err:  # records that fail while a screen runs
    st.error(str(err))
