"""The app: static files, the engine's archive for the browser, and what serves them on one's own machine."""
