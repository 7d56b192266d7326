"""The library in the browser: our pages over the facade, and Datasette's tables for staff."""
