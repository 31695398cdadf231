"""The site log of the installer of wall-mounted battery storage."""
