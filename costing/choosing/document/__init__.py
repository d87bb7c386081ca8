"""The offers document: its schema, its faults, and its forms as TOML and as stored JSON."""
