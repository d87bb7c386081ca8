"""With what somebody signed in, coarsely: enough to tell one's phone from a computer one never had, and no more."""


def client_words(user_agent: str) -> str:
    """What a browser says it runs on: "on a phone or tablet"; a tablet that poses as a computer is taken for one."""
    said = user_agent.lower()
    if "mobi" in said or "tablet" in said:
        return "on a phone or tablet"
    # With this word every browser begins, whoever made it.
    return "on a computer" if said.startswith("mozilla/") else "from an unknown program"
