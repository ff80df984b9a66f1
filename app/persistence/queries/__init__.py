"""Every SELECT that the services run: functions of a session and keywords, by what they look for."""
