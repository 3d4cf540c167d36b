"""Keywords of ssh_config(5), OpenSSH 3 to 10 (from memory and its manual), sorted by what becomes of them.

Those that are carried out are in lookup.py. Those here cannot change which device is reached, who is trusted as it, or
who logs in, each for its reason, and are passed over. All others are refused.
"""

from __future__ import annotations

_PASSED_OVER = {
    "how often and how long something is waited for; there are limits of our own": (
        "ConnectTimeout ConnectionAttempts ServerAliveInterval ServerAliveCountMax TCPKeepAlive KeepAlive"
        " NumberOfPasswordPrompts RekeyLimit ChannelTimeout"
    ),
    "how packets are sent, to whatever host and by whatever of its addresses": (
        "AddressFamily IPQoS Compression CompressionLevel ObscureKeystrokeTiming"
    ),
    "which algorithms are offered; a device that needs outdated ones is told of": (
        "Ciphers Cipher MACs KexAlgorithms HostKeyAlgorithms CASignatureAlgorithms PubkeyAcceptedAlgorithms"
        " PubkeyAcceptedKeyTypes HostbasedAcceptedAlgorithms HostbasedKeyTypes GSSAPIKexAlgorithms RequiredRSASize"
        " WarnWeakCrypto"
    ),
    "what is shown and logged": (
        "LogLevel LogVerbose SyslogFacility VisualHostKey FingerprintHash BatchMode EscapeChar EnableEscapeCommandline"
    ),
    "a host key is always checked against the file of known ones, and nothing loosens that": (
        "StrictHostKeyChecking CheckHostIP HashKnownHosts UpdateHostKeys VerifyHostKeyDNS GlobalKnownHostsFile"
        " GlobalKnownHostsFile2 UserKnownHostsFile2 NoHostAuthenticationForLocalhost"
    ),
    "which of one and the same user's keys and password are offered first; no other way to log in is taken": (
        "IdentitiesOnly PreferredAuthentications PubkeyAuthentication PasswordAuthentication"
        " KbdInteractiveAuthentication KbdInteractiveDevices ChallengeResponseAuthentication SkeyAuthentication"
        " HostbasedAuthentication EnableSSHKeysign GSSAPIAuthentication GSSAPIClientIdentity"
        " GSSAPIDelegateCredentials GSSAPIKeyExchange GSSAPIRenewalForcesRekey GSSAPIServerIdentity GSSAPITrustDns"
        " AddKeysToAgent UseKeychain"
    ),
    "what else a session carries: none of it is set up": (
        "ForwardAgent ForwardX11 ForwardX11Timeout ForwardX11Trusted XAuthLocation LocalForward RemoteForward"
        " DynamicForward ClearAllForwardings ExitOnForwardFailure GatewayPorts PermitRemoteOpen StreamLocalBindMask"
        " StreamLocalBindUnlink Tunnel TunnelDevice SendEnv SetEnv RequestTTY SessionType StdinNull"
        " ForkAfterAuthentication"
    ),
    "a command to run: none is run here, and none but the read-only ones on a device": (
        "LocalCommand PermitLocalCommand RemoteCommand"
    ),
    "whether connections are shared: each device has its own": "ControlMaster ControlPath ControlPersist",
    "does nothing without ProxyCommand, CanonicalizeHostname or Match, which are refused": (
        "ProxyUseFdpass CanonicalDomains CanonicalizeFallbackLocal CanonicalizeMaxDots CanonicalizePermittedCNAMEs Tag"
    ),
    "no longer does anything in OpenSSH itself": (
        "Protocol RSAAuthentication DSAAuthentication RhostsAuthentication RhostsRSAAuthentication TISAuthentication"
        " KerberosAuthentication KerberosTgtPassing AFSTokenPassing FallBackToRsh UseRsh UsePrivilegedPort UseRoaming"
        " UseBlacklistedKeys"
    ),
}
PASSED_OVER = {keyword.lower(): reason for reason, keywords in _PASSED_OVER.items() for keyword in keywords.split()}
"""By keyword in small letters, why it is passed over."""

ONLY_AS = {
    "canonicalizehostname": ("no",),
    "bindaddress": ("none",),
    "certificatefile": ("none",),
    "knownhostscommand": ("none",),
    "pkcs11provider": ("none",),
    "revokedhostkeys": ("none",),
    "securitykeyprovider": ("internal",),
    "userknownhostsfile": ("~/.ssh/known_hosts", "~/.ssh/known_hosts2", "/dev/null", "none"),
}
"""Keywords that are passed over where they say this, which is what is done anyhow, or less than that is trusted."""

HINTS = {
    "proxycommand": "put the way there as ProxyJump",
    "match": "put it as a Host entry",
    "userknownhostsfile": "name that file with --known-hosts, and leave it out here",
    "identityagent": "set SSH_AUTH_SOCK to that agent, and leave it out here",
    "certificatefile": "name the key alone with IdentityFile",
    "smartcarddevice": "name a key file with IdentityFile",
    "pkcs11provider": "name a key file with IdentityFile",
}
"""By refused keyword, what to write in its place."""

KNOWN_TO_SSH = frozenset(
    {*PASSED_OVER, *ONLY_AS, *HINTS} | {"bindinterface", "hostkeyalias", "refuseconnection", "versionaddendum"}
)
"""Keywords that IgnoreUnknown is not about."""
