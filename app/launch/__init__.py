"""The top of the installed package: ``bobweight.core`` computes, ``bobweight.app`` shows.

The folders ``core`` and ``app`` stand at the top of the repository; ``pyproject.toml`` says where
each package lies.
"""
