"""House limits and the answer to "may I use it?": codes and numbers, never sentences."""
