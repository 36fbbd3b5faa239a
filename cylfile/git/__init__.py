"""The way to git: what a repository held at a revision, read without touching its working tree."""
