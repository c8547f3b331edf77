"""Where photographs are kept is one setting: a folder, or any storage class of the framework."""

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.files.storage.handler import StorageHandler

from gearlife.config.media import storage_of


def test_without_the_setting_it_is_the_folder() -> None:
    assert storage_of("") == {"BACKEND": "gearlife.operations.kept_files.KeptFolder"}


def test_a_file_address_is_the_folder_elsewhere() -> None:
    storages = StorageHandler()
    storage = storages.create_storage(storage_of("file:///srv/gear%20photos"))

    assert storage.path("a.jpg") == "/srv/gear photos/a.jpg"


def test_a_storage_is_named_with_its_options() -> None:
    named = storage_of(
        "storage:a.store.Class?bucket_name=gear&endpoint_url=https%3A%2F%2Fs3.example%2F&port=9000&ssl=true"
    )

    assert named["BACKEND"] == "a.store.Class"
    assert named["OPTIONS"] == {
        "bucket_name": "gear",
        "endpoint_url": "https://s3.example/",
        "port": 9000,
        "ssl": True,
    }


@pytest.mark.parametrize("address", ["s3://bucket", "file:relative", "file://host/folder", "storage:", "/srv/photos"])
def test_any_other_address_is_refused_with_how_to_write_it(address: str) -> None:
    with pytest.raises(ImproperlyConfigured, match="file:///the/folder"):
        storage_of(address)
