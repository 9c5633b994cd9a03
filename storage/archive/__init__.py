"""The studio's archive: the logs of several stations in one PostgreSQL database. Read in this order:

1. `address`   where it is, and that no password stands in that
2. `archive_database`  opening it, and its troubles in words
3. `schema`    its tables: those of the log without what is a station's own, and who sent what; `search_tables`
               what it is searched by
4. `merge`     the rules for what meets there: keys, names and numbers taken, acts of people; `strangers` what
               a row from the archive must be
5. `send`, `fetch`, `status`   to the archive, from it, and how far a station has come

Only `stillset archive` and a log address that begins with postgresql:// load any of it. A station never needs the
archive to shoot.
"""
