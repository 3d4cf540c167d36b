"""Words by which secrets are known: which names are those of a secret, and which words behind them are none."""

from __future__ import annotations

import re
import unicodedata
from enum import IntEnum
from functools import lru_cache


class Suspicion(IntEnum):
    """How much a name says that a secret follows.

    ``NONE``: nothing. ``HINT``: one may follow, and is known by its look. ``KEY``: one follows, unless it is a small
    number or a word that says how. ``SECRET``: one follows.
    """

    NONE = 0
    HINT = 1
    KEY = 2
    SECRET = 3


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_PARTS = re.compile(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+|\d+")
_SECRET_ENDS = tuple(
    _words(
        """
    password passw0rd passwd passwort passphrase passcode passkey passgroup pwd psk secret sharedkey privatekey
    privkey secretkey authkey authenticationkey privacykey encryptionkey encryptkey cryptokey cipherkey apikey
    accesskey masterkey sessionkey signingkey statickey wepkey wpakey wifikey wlankey networkkey radiuskey
    tacacskey md5key hashkey hmackey digestkey keystring keyphrase keyvalue keydata authenticationdata token
    communityname communitystring pincode simpin wpspin wpapin otpseed totpseed authpass privpass userpass
    loginpass adminpass rootpass wifipass wlanpass smtppass mailpass ftppass proxypass bindpass pppoepass ppppass
    snmppass vpnpass httppass dbpass keypass bindpw rootpw adminpw userpw wifipw wlanpw vpnpw keypw licensekey
    activationkey activationcode registrationcode unlockcode securitycode accesscode kennwort losungswort
    contrasena motdepasse wachtwoord senha heslo haslo jelszo losenord adgangskode kodeord passord salasana
    """
    )
)
"""Ends of names, their parts written together in small letters, behind which a secret follows."""
_SPOKEN_ENDS = tuple(
    _words(
        """
    password passwd passwort passphrase pwd psk kennwort losungswort contrasena motdepasse wachtwoord senha heslo
    haslo jelszo losenord adgangskode kodeord passord salasana
        """
    )
)
"""Those of them behind which, in prose, too, a plain word is the secret."""
_SECRET_PARTS = _words("cak pin puk otp totp cookie")
_KEY_PARTS = _words("key pass wep sae ppk pw community communitie credential schluessel schlussel clave passe")
_KEY_ENDS = ("pass", "pw", "schluessel", "schlussel")
_NO_PASSES = _words("bypass compass encompass trespass overpass underpass surpass")
_HINT_PARTS = _words(
    """
    auth authentication authenticator authorization hash digest md5 sha hmac private priv privacy ckn salt seed
    code login cred chap pap cipher
    """
)
"""Last parts of a name that say so."""
_FORMS = _words("value string text data hex ascii base plain encrypted hashed enc old new confirm local remote")
"""Last parts that only say in which form the secret is, or whose: ``key_hex``, ``password-encrypted``."""
_PUBLIC = _words("public pub host user known authorized peer trusted")
"""What makes a key one that everybody may know; ``peer`` names the one whose key it is."""
_DIGEST_NAME = re.compile(r"(?:md|sha)\d+$")
_NO_KEYS = _words("monkey donkey turkey hockey jockey hotkey softkey rekey whiskey lackey mickey")
_LONGEST = 128
"""Signs at the end of a name that are looked at."""
OPTIONS = _words(
    """
    yes no on off true false enable enabled disable disabled none null nil auto automatic default any all both
    self required requisite require optional mandatory permit deny allow allowed reject drop accept standard
    extended expanded additive internet local-as no-export no-advertise group groups list lists local-user radius
    tacacs tacacs+ ldap kerberos order login ppp dot1x mac port port-based mac-based chain chains generate zeroize
    zeroise import export exchange ids size length lifetime timeout rotation rotate encrypt decrypt policy
    complexity strength strength-check history aging ageing expiry expire expires expiration expired recovery
    minimum maximum min-length max-length minimum-length maximum-length min max option options prompt change
    changes reset lockout control configuration composition hashing protect protection protected non-plaintext rsa
    dsa ecdsa ed25519 ssh-rsa ssh-dss ssh-ed25519 rsa-sig rsa-encr rsa-signature pem der x509 method methods
    format algorithm algorithms period interval retry retries attempts file path policy-map profile wpa wpa2 wpa3
    wpa-psk wpa2-psk wpa3-psk wpa-eap wpa2-eap wpa3-eap wpa3-sae sae sae-mixed psk psk2 psk-mixed wep open shared
    owe eap eap-tls peap pap chap mschap mschapv1 mschapv2 mschap-v2 mschap1 mschap2 ms-chap ms-chap-v2 tkip ccmp
    gcmp cmac crypt keyed-md5 message-digest pre-share pre-shared pre-shared-key preshared-key shared-secret
    dynamic dynamic-keys static static-keys-required static-keys-optional unique passthrough certificate
    certificates cert in out input output be been being must will shall should may can cannot and or but not if
    when the a an to by at with without from as this that these those it its your our their use used using set
    sets unset add remove needed necessary unknown known invalid incorrect wrong missing changed here there only
    sharing forbidden prohibited holder holders read-only readonly read-write rw ro pubkey-chain general-keys
    usage-keys modulus new-format exportable entered stored saved kept managed common
    """
)
"""Words behind such names that are no secrets: they say how, or that there is none, or are plain English."""
_ALGORITHM = re.compile(
    r"(?:(?:esp|ah|hmac|ecdsa|ecdh|rsa|dsa|dh|ssh|x|pbkdf|des|3des|aes|camellia|chacha|poly|blowfish|rc|md|sha|ike|nist"
    r"|nistp|secp|curve|ed|modp|ecp|group|wpa|psk|gcm|ccm|cbc|ctr|cmac|umac|sig)[-_]?\d{0,4}(?:[-_]|$))+",
    re.IGNORECASE,
)
QUALIFIERS = _words(
    """
    encrypted unencrypted hashed hash plain plaintext plain-text clear cleartext clear-text ciphertext cipher
    encoded ascii ascii-text hex hexadecimal text string value key key-string key-value enc is was are now - =
    mode simple secret password passphrase row local remote manager operator old new raw encryption obfuscated
    type-7 type7 type8 type9 8a inbound outbound port-access set-key config-key encryption-key password-encrypt
    newpass oldpass
    """
)
"""Words between the name and the secret that say in which form it is, or whose."""
ROLES = _words(
    "manager operator local remote encrypted plaintext ciphertext cleartext hex ascii ascii-text port-access"
)
"""Those behind which the secret may be missing: a line that ends with one has none."""
TAKES_WORD = _words(
    """
    user-name username user name id address addr host hostname fqdn user-fqdn identity level view for of on peer
    server remote-id local-id size priv-level privilege kind type format
    """
)
"""Words between the name and the secret to which one more word belongs."""
HARMLESS = _words(
    """
    see look ask call contact tell keep kept note noted list sheet book box safe vault store storage manager
    management office desk room rack door cabinet building floor team admin administrator helpdesk support owner
    network networks lan internet reception
    site device switch router server gateway client printer camera phone terminal portal page label
    sticker envelope document documentation wiki below above behind inside under over into through via per after
    before until since again soon later today tomorrow yesterday always never only new old same different own other
    another lost found stolen forgotten updated replaced rotated renewed removed deleted given issued tbd todo via
    please than then has had have does did done requires needs works about garden ring club field fields entry
    entries settings setting system service services user users guest guests staff mode less free based test tests
    siehe bei beim im in am an auf von vom fur fuer ist war wird und oder nicht kein keine neu alt geandert geaendert
    voir chez pour dans est sur et ou pas nouveau change ver en para por con sin es nuevo vedi per con nel nella
    non nuovo zie bij voor van het een op
    """
)
"""Words behind those for a password in what people write that are none themselves, with ``OPTIONS``."""
OF_LOGINS = _words("wifi fi wlan wpa wpa2 wpa3 vpn isp pppoe ppp ddns smtp snmp admin root login user mot setenv")
"""Words in front of ``key`` and ``pass`` by which even in prose these are for a password, and open no door."""
DIGEST = re.compile(
    r"(?:hmac-?)?(?:md5|sha)-?\d*(?:-\d+)?|(?:3?des|aes)-?\d*(?:-?(?:c?fb|cbc|gcm|cmac))?-?\d*", re.IGNORECASE
)
"""What an algorithm is called between the name and the secret: ``auth sha256 …``, ``priv aes 128 …``."""


@lru_cache(maxsize=65536)
def level_of(name: str) -> Suspicion:
    """Return how much a name says that a secret follows, whatever stands between its parts."""
    parts = [part.lower() for part in _PARTS.findall(_plain(name[-_LONGEST:]))]
    joined = "".join(parts)
    if _DIGEST_NAME.search(joined):
        return Suspicion.KEY if parts[0] in ("auth", "priv") and len(parts) > 1 else Suspicion.HINT
    while (
        len(parts) > 1
        and (parts[-1].isdigit() or parts[-1] in _FORMS or len(parts[-1]) == 1)
        and not joined.endswith(_SECRET_ENDS)
    ):
        parts.pop()
        joined = "".join(parts)
    if not parts:
        return Suspicion.NONE
    last = parts[-1].removesuffix("s") if parts[-1] != "pass" else parts[-1]
    if (last == "key" and not _PUBLIC.isdisjoint(parts)) or joined in ("pubkey", "hostkey"):
        return Suspicion.NONE
    if joined.endswith(_SECRET_ENDS) or joined.removesuffix("s").endswith(_SECRET_ENDS) or last in _SECRET_PARTS:
        return Suspicion.SECRET
    if last in _KEY_PARTS or (parts[-1].endswith(_KEY_ENDS) and parts[-1] not in _NO_PASSES):
        return Suspicion.KEY
    if len(last) > 4 and last.endswith("key") and last not in _NO_KEYS:
        return Suspicion.KEY
    return Suspicion.HINT if last in _HINT_PARTS else Suspicion.NONE


def _plain(name: str) -> str:
    """Return a name without the marks above and below its letters."""
    if name.isascii():
        return name
    return "".join(sign for sign in unicodedata.normalize("NFKD", name) if sign.isascii())


def is_spoken(name: str) -> bool:
    """Return whether a name is one for a password even in prose, where a secret garden may have a key room."""
    plain = "".join(part.lower() for part in _PARTS.findall(_plain(name[-_LONGEST:])))
    return plain == "pw" or plain.endswith(_SPOKEN_ENDS)


def is_harmless(word: str) -> bool:
    """Return whether a word of prose behind one for a password is none."""
    lowered = _plain(word.lower())
    return lowered in HARMLESS or lowered in OPTIONS or level_of(word) is not Suspicion.NONE


def is_algorithm(word: str) -> bool:
    """Return whether a word names how something is hashed or enciphered, and says nothing else."""
    return word not in OPTIONS and (DIGEST.fullmatch(word) or _ALGORITHM.fullmatch(word)) is not None


def is_option(word: str) -> bool:
    """Return whether a word, or each of those that commas part, says how and is no secret."""
    lowered = word.lower()
    return all(part in OPTIONS or _ALGORITHM.fullmatch(part) is not None for part in lowered.split(","))
