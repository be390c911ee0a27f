-- A project in Ardour, run by its own Lua program: a new session with a stereo track, the plugin in
-- it, values set, saved and closed; then a recording is laid on the track in the saved file.
-- The variables PLUGIN, FOLDER, RECORDING, FRAMES and VALUES are set by the lines before these.

io.stdout:setvbuf("no")

local function must(good, what)
  if not good then
    print("FAILED: " .. what)
    os.exit(2)
  end
end

AudioEngine:set_backend("None (Dummy)", "", "")
local session = create_session(FOLDER, "project", 48000)
must(session, "a session")
local order = ARDOUR.PresentationInfo.max_order
local tracks = session:new_audio_track(2, 2, nil, 1, "Guitar", order, ARDOUR.TrackMode.Normal, true)
for track in tracks:iter() do
  local processor = ARDOUR.LuaAPI.new_plugin(session, PLUGIN, ARDOUR.PluginType.VST3, "")
  must(not processor:isnil(), "the plugin " .. PLUGIN)
  must(track:add_processor_by_index(processor, 0, nil, true) == 0, "the insert")
  local plugin = processor:to_insert():plugin(0)
  local left = {}
  for name in pairs(VALUES) do left[name] = true end
  for index = 0, plugin:parameter_count() - 1 do
    local name = plugin:parameter_label(index)
    if VALUES[name] then
      must(ARDOUR.LuaAPI.set_processor_param(processor, index, VALUES[name]), name)
      left[name] = nil
    end
  end
  for name in pairs(left) do must(false, "no parameter " .. name) end
  -- The audio thread hands the values on before they are saved.
  ARDOUR.LuaAPI.usleep(700000)
  print("latency " .. processor:to_insert():signal_latency())
end
session:save_state("", false, false, false, false, false)
close_session()

local path = FOLDER .. "/project.ardour"
local file = io.open(path)
local text = file:read("a")
file:close()

-- Positions count superclocks, 282,240,000 a second.
local length = string.format("a%d", FRAMES * 282240000 // 48000)
local function element(name, attributes)
  local parts = {"<" .. name}
  for key, value in pairs(attributes) do parts[#parts + 1] = string.format(' %s="%s"', key, value) end
  return table.concat(parts) .. "/>\n"
end
local sources = ""
local region = {
  name = "Guitar", id = 91000, type = "audio", start = "a0", length = length .. "@a0", channels = 2,
  muted = 0, opaque = 1, locked = 0, hidden = 0, automatic = 0, external = 1,
  ["whole-file"] = 0, ["first-edit"] = "nothing", ["layering-index"] = 0, ["envelope-active"] = 0,
  ["default-fade-in"] = 0, ["default-fade-out"] = 0, ["fade-in-active"] = 0,
  ["fade-out-active"] = 0, ["scale-amplitude"] = 1,
}
for channel = 0, 1 do
  sources = sources .. element("Source", {
    name = RECORDING, id = 90000 + channel, type = "audio", channel = channel, flags = "",
    ["take-id"] = "", origin = "", gain = 1,
  })
  region["source-" .. channel] = 90000 + channel
  region["master-source-" .. channel] = 90000 + channel
end

local function inside(name, opening, content)
  local at, stop = text:find(opening)
  must(at, "no " .. name .. " in the saved session")
  local tag = text:sub(at, stop)
  if tag:sub(-2) == "/>" then
    text = text:sub(1, at - 1) .. tag:sub(1, -3) .. ">\n" .. content .. "</" .. name .. ">" .. text:sub(stop + 1)
  else
    text = text:sub(1, stop) .. "\n" .. content .. text:sub(stop + 1)
  end
end
inside("Sources", "<Sources[^>]*>", sources)
inside("Playlist", '<Playlist [^>]*name="Guitar[^>]*>', element("Region", region))
inside("Locations", "<Locations[^>]*>", element("Location", {
  id = 92000, name = "session", start = "a0", ["end"] = length, flags = "IsSessionRange",
  locked = 0, timestamp = 1,
}))
text = text:gsub('id%-counter="%d+"', 'id-counter="100000"')
file = io.open(path, "w")
file:write(text)
file:close()
print("saved")
quit()
