from __future__ import annotations

from pathlib import Path

import pytest

from bench.settings import BadSetting, Settings, default_data_folder, settings_from


def test_without_a_word_the_bench_serves_this_pc_alone():
    settings = settings_from({})

    assert settings == Settings(default_data_folder(), "127.0.0.1", 8480, "")
    assert settings.served_at == "http://127.0.0.1:8480"
    assert settings.data == Path.home() / "tiltbook-data"


def test_a_variable_settles_and_an_option_counts_before_it(tmp_path):
    environ = {"TILTBOOK_DATA": str(tmp_path), "TILTBOOK_PORT": "9001", "PATH": "/bin"}

    assert settings_from(environ).port == 9001
    assert settings_from(environ, port=9002).port == 9002
    assert settings_from(environ, data=None).data == tmp_path


def test_labels_name_the_address_settled_or_the_one_served(tmp_path):
    assert Settings(tmp_path).labels_at == "http://127.0.0.1:8480"
    assert Settings(tmp_path, address="https://bench.local/t/").labels_at == "https://bench.local/t"


def test_an_address_of_six_groups_stands_in_brackets(tmp_path):
    assert Settings(tmp_path, host="::1").served_at == "http://[::1]:8480"


@pytest.mark.parametrize(
    ("environ", "name", "code"),
    [
        ({"TILTBOOK_PORT": "0"}, "port", "no_port"),
        ({"TILTBOOK_PORT": "65536"}, "port", "no_port"),
        ({"TILTBOOK_PORT": "eighty"}, "port", "no_port"),
        ({"TILTBOOK_HOST": "0.0.0.0"}, "host", "not_loopback"),
        ({"TILTBOOK_HOST": "192.168.1.7"}, "host", "not_loopback"),
        ({"TILTBOOK_HOST": "bench.local"}, "host", "not_loopback"),
        ({"TILTBOOK_ADDRESS": "ftp://bench"}, "address", "no_address"),
        ({"TILTBOOK_ADDRESS": "bench.local"}, "address", "no_address"),
        ({"TILTBOOK_ADDRESS": "http://x:99999"}, "address", "no_address"),
        ({"TILTBOOK_ADDRESS": "http://u:p@x"}, "address", "no_address"),
        ({"TILTBOOK_ADDRESS": "http://x/?a"}, "address", "no_address"),
        ({"TILTBOOK_DATA": __file__}, "data", "no_folder"),
        ({"TILTBOOK_PROT": "8480"}, "TILTBOOK_PROT", "unknown"),
    ],
)
def test_nonsense_is_refused_by_name(environ, name, code):
    with pytest.raises(BadSetting) as refused:
        settings_from(environ)

    assert (name, code) == (refused.value.name, refused.value.code)


def test_on_the_network_the_first_name_is_where_the_bench_is_opened(tmp_path):
    settings = Settings(
        tmp_path, "0.0.0.0", lan=True, names=("tiltbook-pc.local", "pc.local", "10.0.0.2")
    )

    assert settings.served_at == settings.tablets_at == "https://tiltbook-pc.local:8480"
    assert settings.trust_port == 8481


def test_an_address_settled_counts_before_the_names_of_the_network(tmp_path):
    settings = Settings(tmp_path, lan=True, names=("pc.local",), address="https://bench.lab/")

    assert settings.tablets_at == "https://bench.lab"


def test_the_network_is_answered_on_every_address_unless_one_is_named():
    assert settings_from({}, lan=True).host == "0.0.0.0"
    assert settings_from({}, lan=True, host="192.168.1.7").host == "192.168.1.7"


def test_on_the_network_the_last_port_leaves_none_for_the_page_of_trust():
    with pytest.raises(BadSetting) as refused:
        settings_from({}, lan=True, port=65535)

    assert refused.value.code == "no_port"
