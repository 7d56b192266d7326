"""A collection becomes an index on disk: words, meaning and links, in SQLite with FAISS beside it."""
