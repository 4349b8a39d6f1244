"""`meetapp serve --certificate FILE --key FILE`: pages over TLS; what is wrong with the files is told in a sentence."""

import ssl
from datetime import timedelta
from pathlib import Path

import httpx
import pytest

from meetapp.certificates import check_certificate
from meetapp.cli import main
from meetapp.flows.club.field_address import answers_at
from meetapp.store.forward import CantOpen
from tests.certificates import DAY, write_key, write_pair
from tests.running import start_server, stop_server


def refusal(certificate: Path | None, key: Path | None) -> str:
    with pytest.raises(CantOpen) as refused:
        check_certificate(certificate, key)
    return str(refused.value)


def test_a_good_pair_is_taken_and_none_is_needed(tmp_path: Path) -> None:
    check_certificate(*write_pair(tmp_path))
    check_certificate(None, None)


def test_one_without_the_other_is_refused(tmp_path: Path) -> None:
    certificate, key = write_pair(tmp_path)
    assert "give both --certificate and --key" in refusal(certificate, None)
    assert "give both --certificate and --key" in refusal(None, key)


def test_a_file_that_is_not_there_or_no_file_is_named(tmp_path: Path) -> None:
    certificate, key = write_pair(tmp_path)
    gone = tmp_path / "gone"
    assert f"There is no file {gone}. Name the certificate's file with --certificate." == refusal(gone, key)
    assert f"There is no file {gone}. Name the key's file with --key." == refusal(certificate, gone)
    assert "can't be read" in refusal(certificate, tmp_path)


def test_a_key_of_another_certificate_is_refused(tmp_path: Path) -> None:
    certificate, _key = write_pair(tmp_path)
    other = tmp_path / "other.key"
    write_key(other)
    assert f"The key in {other} doesn't belong to the certificate in {certificate}." == refusal(certificate, other)


def test_a_locked_key_is_refused_and_nothing_is_asked(tmp_path: Path) -> None:
    certificate, key = write_pair(tmp_path)
    write_key(key, b"a password")
    assert "is locked by a password" in refusal(certificate, key)


def test_files_of_another_kind_are_refused(tmp_path: Path) -> None:
    certificate, key = write_pair(tmp_path)
    assert "hold no certificate and key in PEM form" in refusal(key, certificate)
    certificate.write_bytes(b"\x30\x82")
    assert "hold no certificate and key in PEM form" in refusal(certificate, key)


@pytest.mark.parametrize(
    ("begins", "ends", "sentence"),
    [(-2 * DAY, -DAY, "has expired"), (DAY, 2 * DAY, "isn't valid yet")],
    ids=["expired", "not yet"],
)
def test_a_certificate_out_of_its_time_is_refused(
    tmp_path: Path, begins: timedelta, ends: timedelta, sentence: str
) -> None:
    assert sentence in refusal(*write_pair(tmp_path, begins, ends))


def test_nothing_is_started_with_a_bad_certificate(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    database = tmp_path / "club.db"
    options = ["serve", "--port", "0", "--database", str(database), "--certificate", str(tmp_path / "gone")]
    assert main([*options, "--key", str(tmp_path / "gone")]) == 1
    assert "There is no file" in capsys.readouterr().err
    assert not database.exists()
    assert main(["demo", "--port", "0", "--certificate", str(tmp_path / "gone"), "--key", str(tmp_path / "gone")]) == 1
    assert "There is no file" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["http://meet.example", "meet.example:80", "a b", ""])
def test_what_is_no_name_is_refused(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", "--name", name]) == 2
    assert "is no name: give one such as meet.example" in capsys.readouterr().err


def test_an_encrypted_server_prints_its_addresses_and_keeps_its_cookies_to_itself(tmp_path: Path) -> None:
    certificate, key = write_pair(tmp_path)
    process, server = start_server(
        *("serve", "--database", str(tmp_path / "club.db"), "--certificate", str(certificate), "--key", str(key)),
        *("--name", "meet.example"),
    )
    try:
        assert "https://meet.example:" in server.printed
        assert "http://" not in server.printed
        context = ssl.create_default_context(cafile=str(certificate))
        context.check_hostname = False
        with httpx.Client(base_url=server.base, verify=context, headers={"Host": "meet.example"}) as phone:
            answer = phone.get("/network")
            assert "This page came encrypted" in answer.text
            cookie = answer.headers["set-cookie"]
            assert cookie.startswith("__Host-meet_browser=")
            assert {"Secure", "HttpOnly", "Path=/", "SameSite=lax"} <= set(cookie.split("; "))
            assert "Domain" not in cookie
            here = phone.get("/answers-here").text
            assert phone.get("/", headers={"Host": "other.example"}).status_code == 400
        assert answers_at(server.base, here)
    finally:
        stop_server(process)
