"""What a running process uses, as Linux tells (proc(5))."""

import os
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Process:
    """A process of this machine."""

    pid: int

    def memory_mb(self) -> float:
        """What it holds in memory now (VmRSS), in MB."""
        status = Path(f"/proc/{self.pid}/status").read_text(encoding="ascii")
        kilobytes = next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1]
        return int(kilobytes) / 1024

    def processor_seconds(self) -> float:
        """Processor time so far, of all its threads."""
        after_name = Path(f"/proc/{self.pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
        return (int(after_name[11]) + int(after_name[12])) / os.sysconf("SC_CLK_TCK")
