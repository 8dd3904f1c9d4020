"""app.resources: where data, model and the user's files lie."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from app import resources


def test_finds_a_data_folder_beside_the_packages() -> None:
    """In a checkout the shared data is the folder beside the packages."""
    found = resources.path("shared")
    assert found == Path(resources.__file__).resolve().parent.parent / "shared"
    assert found.is_dir()


def test_lists_files_in_order_of_name() -> None:
    """The files of a folder come sorted, and folders are not among them."""
    found = resources.files("shared", "*")
    assert list(found) == sorted(found)
    assert all(file.is_file() for file in found)


@pytest.mark.parametrize("relative", ["", "tests/x", "shared/../pyproject.toml", "/etc/passwd"])
def test_refuses_what_is_not_product_data(relative: str) -> None:
    """Only shared/ and assets/ can be read, and nothing by climbing out of them."""
    with pytest.raises(ValueError, match="does not start with shared/ or assets/"):
        resources.path(relative)


def test_names_a_missing_file_in_one_sentence() -> None:
    """A missing data file is an error that names the file."""
    with pytest.raises(FileNotFoundError, match="lacks its file 'shared/no-such-file'"):
        resources.text("shared/no-such-file")


def test_the_option_outranks_the_variable_and_the_variable_the_cache(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A model named on the command line wins over WALESONG_MODEL, which wins over the cache."""
    monkeypatch.setenv(resources.MODEL_VARIABLE, str(tmp_path / "variable"))
    assert resources.model_folder(tmp_path / "option") == tmp_path / "option"
    assert resources.model_folder() == tmp_path / "variable"
    monkeypatch.delenv(resources.MODEL_VARIABLE)
    assert resources.model_folder() == resources.cache_folder() / resources.MODEL_NAME


def test_a_tilde_means_the_users_home(monkeypatch: pytest.MonkeyPatch) -> None:
    """A model's path may start with ~, also where no shell has replaced it."""
    monkeypatch.setenv(resources.MODEL_VARIABLE, "~/model")
    assert resources.model_folder() == Path(os.environ["HOME"]) / "model"


def test_the_users_files_stay_in_the_tests_own_home() -> None:
    """Tests see a home of their own, so no test can touch the user's journals."""
    home = Path(os.environ["HOME"])
    assert home.name.startswith("walesong-tests-")
    assert resources.data_folder().is_relative_to(home)
    assert resources.cache_folder().is_relative_to(home)
