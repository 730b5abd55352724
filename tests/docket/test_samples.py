"""The sample dockets are those that their stories make: what nobody can make anew, nobody can mend.

Held against the files that come with the program.
"""

from __future__ import annotations

import pytest

from bobweight.core.docket.file import docket_to_text
from bobweight.sample_curves.make import Story, sample, stories
from tests.samples import FOLDER


@pytest.mark.parametrize("story", stories(), ids=lambda story: story.file)
def test_a_story_makes_the_docket_that_comes_with_the_program(story: Story):
    held = (FOLDER / f"{story.file}.docket").read_text(encoding="utf-8")
    assert docket_to_text(sample(story)) == held
