"""What pyproject.toml cannot say: the data files of an editable install come along too.

setuptools asks a distribution ``has_data`` before it installs them that way, and has no such question of its own.
"""

from setuptools import Distribution, setup


class WithDataFiles(Distribution):
    def has_data(self) -> bool:
        return bool(self.data_files)


setup(distclass=WithDataFiles)
