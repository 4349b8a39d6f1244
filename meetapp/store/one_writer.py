"""The one connection by which a process writes to its SQLite file, and so learns when anybody else wrote there."""

from sqlalchemy import Connection, Engine


class OneWriter:
    """Opens its connection when it is first asked for one. Whoever asks holds the process's write lock."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._open: Connection | None = None
        self._seen = 0

    def connection(self) -> Connection:
        """The connection, for one transaction after the other."""
        if self._open is None:
            self._open = self._engine.connect()
        return self._open

    def others_wrote(self) -> bool:
        """Whether another connection has committed to the file since this was asked last; True the first time.

        SQLite counts for each connection what is committed by others (https://sqlite.org/pragma.html#pragma_data_version).
        """
        driver = self.connection().connection.dbapi_connection
        assert driver is not None, "an open connection has its driver's"
        version, before = driver.execute("PRAGMA data_version").fetchone()[0], self._seen
        self._seen = version
        return bool(version != before)

    def close(self) -> None:
        """Let go of the connection; the next one who asks is given another."""
        if self._open is not None:
            self._open.close()
        self._open, self._seen = None, 0
