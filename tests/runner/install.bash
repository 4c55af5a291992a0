# Installs what is missing, with apt, pip and npm.

# What every build needs.
packages_to_build=(build-essential pkg-config libasound2-dev git)
# What the tests share.
packages_to_test=(python3-venv util-linux espeak-ng flite asterisk-core-sounds-en-wav sox ffmpeg
  mediainfo alsa-utils pulseaudio pulseaudio-utils libasound2-plugins libhamlib-utils gpsd
  openssh-server openssh-client avahi-daemon chromium chromium-driver)
# What some parts need besides.
declare -A packages_of=(
  [lint]="shellcheck"
  [package]="rustc-web cargo-web libstd-rust-web-dev:arm64 gcc-aarch64-linux-gnu
    libc6-dev-arm64-cross libasound2-dev:arm64 qemu-user-static lintian rust-web-src
    qemu-system-arm binutils"
  [pins]="qemu-system-x86 busybox-static cpio kmod e2fsprogs apt-utils systemd"
  [manual]="man-db groff bsdextrautils zsh fish lintian"
  [windows]="rustc-web cargo-web rust-web-src gcc-mingw-w64-x86-64 wine64 curl jq sox"
  [macos]="rustc-web cargo-web rust-web-src"
  [hardware]="$(tr '\n' ' ' < hardware/packages.txt)"
)

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"; else sudo "$@"; fi
}

apt_install() {
  local missing=() name
  for name in "$@"; do
    dpkg-query -W -f='${Status}' "$name" 2> /dev/null | grep -q 'ok installed' || missing+=("$name")
  done
  if [ ${#missing[@]} = 0 ]; then return; fi
  echo "installing ${missing[*]}"
  as_root apt-get update -qq
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" \
    > "$logs/apt.log" 2>&1 || { tail -20 "$logs/apt.log"; return 1; }
}

install_to_build() {
  apt_install "${packages_to_build[@]}"
  if ! command -v cargo > /dev/null; then
    echo "tests/run: cargo is missing; install Rust with rustup first" >&2
    return 1
  fi
}

# What these parts need: install_for PART...
install_for() {
  local name list=("${packages_to_build[@]}" "${packages_to_test[@]}")
  for name in "$@"; do
    # shellcheck disable=SC2206 # one package a word
    list+=(${packages_of[$name]:-})
    case $name in
      # The other machine's libraries. The default toolchain stays as it is.
      package) add_architecture arm64 ;;
      # For whichever kernel the distribution has now.
      pins) dpkg-query -W 'linux-headers-[0-9]*-amd64' > /dev/null 2>&1 || list+=(linux-headers-amd64) ;;
    esac
  done
  apt_install "${list[@]}"
  python_environment outside-venv tests/outside/requirements.txt --no-deps
  if [[ " $* " == *" review "* ]]; then install_axe; fi
}

add_architecture() {
  if ! dpkg --print-foreign-architectures | grep -qx "$1"; then
    as_root dpkg --add-architecture "$1"
    as_root apt-get update -qq
  fi
}

# Makes a Python environment of its own for a list of pinned packages:
# python_environment NAME LIST [pip's options].
python_environment() {
  local environment=$target/$1 wanted=$2
  shift 2
  if ! cmp -s "$wanted" "$environment/installed.txt"; then
    echo "installing the Python packages of $wanted"
    python3 -m venv --clear "$environment"
    "$environment/bin/pip" install --quiet --disable-pip-version-check "$@" -r "$wanted"
    cp "$wanted" "$environment/installed.txt"
  fi
}

# What judges the review page for people who do not see it or use no mouse.
install_axe() {
  local wanted=axe-core@4.14.1
  if [ "$(cat "$target/axe/installed.txt" 2> /dev/null)" != "$wanted" ]; then
    command -v npm > /dev/null || apt_install npm
    echo "installing $wanted"
    npm install --silent --no-save --ignore-scripts --prefix "$target/axe" "$wanted"
    echo "$wanted" > "$target/axe/installed.txt"
  fi
}
