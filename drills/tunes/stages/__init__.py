"""The ten stages that take changes from bare roots to music (handbook D2), one module a group of stages."""
