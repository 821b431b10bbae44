/* SPDX-License-Identifier: MIT */
#include "command/command.h"

int main(int argc, char **argv)
{
    return cb_command_main(argc, argv);
}
