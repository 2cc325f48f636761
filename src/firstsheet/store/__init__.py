"""What the person keeps: stocks and tickets as TOML (and, later, the ledger in SQLite).

Enters: paths and text. Leaves: Stock and Ticket records, or a slip with its line.
May import: cms, engine, tomlkit, platformdirs.
"""
