# A task of Windows that watches the lines of {{.Config}} from the start of the computer on, nobody logged in.
# Run this as administrator, in PowerShell:
#
#   asusual init {{.Folder}} --service windows | Out-File asusual.ps1 -Encoding utf8
#   powershell -ExecutionPolicy Bypass -File asusual.ps1
#
# LOCAL SERVICE must be able to read the spectra and to write to the folder. It cannot reach a network share: for that give
# Register-ScheduledTask an account that can, by -User and -Password in place of -Principal.
# Stop-ScheduledTask ends the program at once. Nothing is lost by that, and nothing counts twice: the next start goes on
# where history ends, and where the one before still runs, it is refused.
$ErrorActionPreference = 'Stop'
$action = New-ScheduledTaskAction -Execute "$env:SystemRoot\System32\cmd.exe" -WorkingDirectory {{shell .Folder}} -Argument {{shell .Command}}
$trigger = New-ScheduledTaskTrigger -AtStartup
$settings = New-ScheduledTaskSettingsSet -ExecutionTimeLimit ([TimeSpan]::Zero) -RestartCount 999 -RestartInterval (New-TimeSpan -Minutes 1) `
    -MultipleInstances IgnoreNew -AllowStartIfOnBatteries -DontStopIfGoingOnBatteries
$who = New-ScheduledTaskPrincipal -UserId 'NT AUTHORITY\LOCAL SERVICE' -LogonType ServiceAccount
Register-ScheduledTask -TaskName 'asusual' -Action $action -Trigger $trigger -Settings $settings -Principal $who
Start-ScheduledTask -TaskName 'asusual'
