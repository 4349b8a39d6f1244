"""`meetapp serve`: what keeps it from starting is told in one sentence, and blamed on the right option."""

from pathlib import Path

import pytest

from meetapp.cli import main

ELSEWHERE = "192.0.2.77"  # for texts only, so no machine has it (RFC 5737)


@pytest.mark.parametrize("host", [ELSEWHERE, "no-such-host.invalid"], ids=["another's", "no name"])
def test_an_address_of_another_machine_is_blamed_on_the_host(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], host: str
) -> None:
    path = tmp_path / "club.db"
    assert main(["serve", "--host", host, "--port", "0", "--database", str(path)]) == 1
    told = capsys.readouterr().err
    assert f"{host} is no address of this machine. Choose another with --host" in told
    assert "Port" not in told
    assert not path.exists()
