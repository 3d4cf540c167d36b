-- Settings of ports have the names of IEEE 802.1Q now. What was kept follows: setting, fields of whole items, and the
-- id, which is made of device and setting. The functions are ours: see functions.py.
UPDATE finding SET
  setting = setting_now(setting, expected, observed),
  expected = value_now(setting, expected),
  observed = value_now(setting, observed);
UPDATE finding SET key = finding_id(device, setting);
