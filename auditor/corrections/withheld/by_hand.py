"""Why there is no correction, by name: all wording of it is here, and each sentence ends in what to do by hand."""

from __future__ import annotations

BY_HAND = {
    "no template": "there are no corrections for this platform yet: set it by hand",
    "passphrase": "the tool never handles a passphrase: set the planned one on the device",
    "port": "this port is not in the capture: check whether it exists and what its name is",
    "text": "a text in it cannot be written safely as a command: set it by hand",
    "secret": "a line of it holds a secret, which is not kept: set it by hand",
    "ineffective": "its parent has no member ports: correct that by hand first",
    "no zone": "its interface has no member ports, or is in no zone: correct that by hand first",
    "blocked": "it is set up and has no effect: check where it answers, its interface's zone, and its encapsulation",
    "inherited": "it comes from a group, which other places may use, too: change the group, or keep it away from here",
    "process off": "the process that does it is switched off: switch that on first, then audit again",
    "said otherwise": "lines of it are there and say otherwise: look at them first",
    "most": "a longest lease is set, too: see which of both is meant",
    "routing": "routing is off on this device: switch it on first, then audit again",
    "vrf": "it is in another VRF than what it is routed to: put it where the others are, by hand",
    "more links": "it waits for more of its ports than are on: switch these on, or have it want fewer",
    "nothing": "no short, safe command sequence is known: set it by hand",
    "beneath": "a lower-layer interface is down (RFC 2863): fix that first",
    "only address": (
        "it is the only address that the device has, or its other addresses go as well: check first that the "
        "device answers at a planned one"
    ),
    "several addresses": (
        "it has more than one address, or one beside a leased one: check which of them is the carrier's, and take the "
        "others away by hand"
    ),
    "broken": "no commands could be made of what this capture shows: set it by hand",
    # said by pieces of platforms
    "order": "which of several addresses is the first matters: set them by hand",
    "group": "its shared address needs the group's number, which the other gateways have",
    "router number": "its shared address needs the number of the virtual router, which the other gateways have",
    "several trunks": (
        "the plan does not tell on which of several ports, or none, this VLAN's interface lies: set it up by "
        "hand where the other devices expect it"
    ),
    "subinterface": "here a VLAN's address stands in its subinterface: see what is found at its port",
    "another address": "its interface has another address, too: look at it first",
    "wifi": "a Wi-Fi name is made by hand: it needs its encryption on each radio, and perhaps its passphrase",
    "protection": "this protection needs more than lines of its Wi-Fi name: set it by hand",
    "contract": "the uplink needs what only its carrier's contract says",
    "session": "a PPPoE uplink has its name and secret in lines of its own: set it by hand",
    "waits": "a DHCP server that is not planned waits on it: switch that off first",
    "more wrong": "more is wrong at its ports than this VLAN: see what is found there",
    "same servers": "requests of other interfaces go to the same servers, which is not planned: fix those first",
    "relayed": "its requests are relayed, too: set the interface, its relay and its addresses by hand",
    "untold group": "its shared address needs the group's number, which is not told here: set it by hand",
    "lies elsewhere": (
        "its interface lies on another port and cannot be moved: make it anew there, with all that refers to it"
    ),
    "port off": (
        "its interface is not there, and the port that it belongs on is off: switch that on first, then audit again"
    ),
    "virtual domains": "it has virtual domains: which of them a setting is in decides where commands begin",
    "which bridge": "which of several bridges, or none, it belongs to is for somebody to say who knows the device",
    "row wrong": "the VLAN's line in the bridge's table is wrong for ports, too: see what is found at them",
    "no filtering": (
        "the bridge does not filter VLANs, so this address belongs on the bridge itself: set it there by hand"
    ),
    "no row": "the VLAN has no line of its own in the bridge's table: see what is found at its ports",
    "serves others": "what it stands in serves another Wi-Fi name, too, which is planned otherwise",
    "no bridge row": "its VLAN has no line at the bridge: see what is found at the ports",
    "deactivated": "a statement of it is deactivated: look at it first",
    "one for all subnets": "one such setting holds for all subnets of the switch: set it by hand",
    "unplanned subnet": "the switch serves a subnet that is not planned: take it away by hand, with what belongs to it",
    "no voice vlan": "the telephones' VLAN is not there: make that first",
    "marked for voice": (
        "a VLAN is marked as one for telephones for the whole switch: see what its other ports should have"
    ),
    "voice in use": "ports may still have it for their telephones: see what is found at them first",
    "scope hangs on it": "a DHCP scope has its prefix from this interface: see where the plan has them",
    "address elsewhere": (
        "the plan has an address there for a VLAN that this port should not carry: see where it belongs"
    ),
    "other bridge": "another VLAN untagged is another bridge here, on the radios, too: change both by hand",
    "routed by it": "the VLANs that are routed by this port go with it: see where the plan has them",
    "by subinterface": "here a VLAN is there by its subinterface: see what is found at its port",
    "untagged address": "its address is in the VLAN that is untagged at its port: see what is found there",
    "not on radios": "its VLAN is not on the radios: it needs a subinterface on each, and its encryption",
    "one voice vlan": "the voice VLAN is one for the whole switch: see what its other ports should have",
    "old trunk": "firmware as old as this writes a trunk in a way of its own: make it one by hand",
    "shares or relays": "it needs its shared address or relay, too: set it up by hand",
    "there": "its interface is there: look where it is and what address it has",
    "by which interface": "by which interface it should be let in is not planned: choose it by hand",
    "no switch": (
        "no switch has this VLAN, or the port has settings of its own, which stand in the way: look at both first"
    ),
    "last port": "the switch that it leaves would be without ports: see what else is found of its VLAN",
    "no port": "the capture does not have this port: look whether it is there, and what it is called",
    "pppoe goes": "a PPPoE uplink has its name and secret, which go with it: note them, then set it by hand",
    "pppoe comes": "a PPPoE uplink has its name and secret, which are not known here: set it by hand",
    "both off": "its interface is off, and so is the server: fix the interface first",
    "no network": "no interface has an address in this network: fix that first",
    "wifi hangs": "a Wi-Fi name comes and goes by hand: it hangs on access points, policies and perhaps a passphrase",
    "entry numbers": "the numbers of its entries are not told here: look at them, then set their servers",
    "would not come back": (
        "it has a shared address, whose lines would not come back as they were: keep a copy, then set it by hand"
    ),
    "managed apart": (
        "one VLAN is set apart for management: it is not routed, and alone answers logins: decide first which it is"
    ),
    "layer 3 off": "the layer-3 interface of its VLAN is switched off by a line of its own: see why, then switch it on",
    "always in one": "a port of this switch is always in some VLAN: decide in which",
    "still untagged": "ports are still untagged in it: decide where they belong first",
    "group of both": "its shared address belongs to a group with the other gateways: set both by hand",
    "off by range": "it is off as one of a range of ports: take it out of the range, or the range out of it",
    "no vlans on it": "a port without VLANs has other settings, too, which stand in the way: change those first",
    "range of ports": "it stands on a range of ports, which are not all planned alike: take it out of the range first",
    "ports in it": "ports are still in it: take them out first, see what is found at each",
    "another address first": "its interface has another address, too: set that first",
    "vlan first": "its VLAN is not there: make that first",
    "laid directly": (
        "its VLANs are interfaces laid directly on it, not lines of a bridge's table: change those by hand"
    ),
    "several in a row": (
        "a line of the bridge's VLAN table is about several VLANs, not all of which belong on the port: take "
        "it apart by hand"
    ),
    "no pool": (
        'its server has no pool, and there is none with the planned addresses: make one with what "expect" shows'
    ),
    "waits elsewhere": (
        "its server waits on the interface of another scope: put that right, and what it gives out, by hand"
    ),
    "profile serves": "its security profile serves another Wi-Fi name, too: give it one of its own by hand",
    "default profile": (
        "its security profile is the one that all names share which have none of their own: make one for it"
    ),
    "no passphrase": "its passphrase is not on the device: set it by hand together with its protection",
    "which radio": "which of the radios should air it, and on which band, is for someone who knows the place to decide",
    "by ports and address": "here a VLAN is there by its ports and its address: see what is found there",
    "port on bridge": "its port is on the bridge: see what is found there",
    "no address": "there is no address in its prefix: see what is found of its gateway",
    "other server": "the server of another scope waits on its interface: see what is found of that scope",
    "new scope": 'a whole new scope needs a server, a pool and a network: write them with what "expect" shows',
    "more than off": "it differs from the plan in more than being off: see what is found once it is on",
    "told nowhere": (
        'what its clients are told stands nowhere, and needs options of its own: write it with what "expect" shows'
    ),
    "versions": "versions 6 and 7 write time servers differently: set them by hand",
    "no switch row": "the switch has no line for one of its VLANs, which needs a number of its own: make it by hand",
    "knows the network": "its network is for someone who knows what else depends on it to set up",
    "one run": "here a scope gives out one run of addresses by its start and count: change the plan, or set it by hand",
    "network serves": (
        "its network serves another Wi-Fi name, too, which is planned in another VLAN: give it one of its own"
    ),
    "has an address": (
        "its network has an address, which would move to the other VLAN, too: give the Wi-Fi name a network of its own"
    ),
    "keeps none apart": (
        "its network lies on something that keeps no VLANs apart: see what is found at its gateway and ports"
    ),
    "radio serves": "its radio serves another Wi-Fi name, too, which is planned otherwise: see what is found of that",
    "not in use": "here a port is off by not being in use: see what is found of its VLANs",
    "by ports and network": "here a VLAN is there by its ports and its network: see what is found there",
    "new section": 'a whole new scope needs a section of its own: write it with what "expect" shows',
    "one clock line": "it is one line with the time zone and two servers: set it by hand",
    "unplanned vlans": "VLANs that are not planned are in it: take them out first",
    "nowhere": "a planned VLAN would be nowhere after it: fix the other ports first",
    "several subnets": "it stands where it holds for several subnets: see what the others should have",
    "no word": "an option with this number has no word of its own here: set it by hand",
    "travels untagged": (
        "its frames travel untagged, so that its address belongs on the bridge, switch or port itself: look "
        "whether that is on and has it"
    ),
    "unplanned share": "this shared address is not planned: compare the other gateways",
    "parts": "its parts are there, but it gives nothing out: look what is missing",
    "shares network": "it shares its network with others: take it away by hand",
}
