"""The pages: the whole job in the browser. They ask the studies, show what these say, and compute nothing."""
