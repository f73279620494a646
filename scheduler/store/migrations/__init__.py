"""The steps by which a record's tables came to be; run by Record.migrate()."""
