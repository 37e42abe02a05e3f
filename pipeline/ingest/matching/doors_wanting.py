"""Whether the files of a folder, as they are mapped, give any door: without one a run has nothing to say."""

from pathlib import Path

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping_tables import read_mapping
from pipeline.ingest.files.folder import list_folder
from pipeline.ingest.records import INSTALLS
from pipeline.settings import SETTINGS_FILE

NO_DOORS = (
    "No file here lists the doors fitted, which a run needs: match the file that does, complete what was found of it "
    f"in {SETTINGS_FILE}, or put installs.csv into the folder, with one row per door fitted."
)


def doors_wanting(folder: Path) -> str:
    """The sentence for a folder in which no file is read as doors; empty where one is."""
    try:
        files = list_folder(folder, folder, read_mapping(folder)).files
    except UserError:
        # what is wrong with the settings or the folder is told by the check and the run, in their own words
        return ""
    return "" if any(one.record == INSTALLS.name for one in files) else NO_DOORS
